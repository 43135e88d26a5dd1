#!/bin/bash
# make-ntfs.sh FOLDER [SECTOR [CLUSTER [START [SEED]]]]: NTFS made by mkntfs, filled through ntfs-3g; content read back through
# a read-only mount, places asked of ntfsinfo. START bytes lie before the volume. Beside the seeded tree: compressed and
# sparse files, streams, hard links, short names, links, a file of some hundred runs, a file with room never written,
# reparse points (in 'points', told in points.tsv; those with content elsewhere are not in the manifest), a crowded folder with deletions.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
SECTOR=${2:-512} CLUSTER=${3:-4096} START=${4:-0} SEED=${5:-20260301}
BYTES=$((64 << 20))

cat > "$WORK/ntfs.py" <<'PY'
import hashlib, json, os, re, subprocess, sys
def attributes(device, inode):
    text = subprocess.run(['ntfsinfo', '-f', '-v', '-i', str(inode), device], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout.decode(errors='replace')
    for block in re.split(r'(?=Dumping attribute )', text):
        if not re.match(r'Dumping attribute .*\(0x80\)', block):
            continue
        name = re.search(r"^\tAttribute name:\s*'(.*)'", block, re.M)
        flags = int((re.search(r'Attribute flags:\s*0x([0-9a-fA-F]+)', block) or [0, '0'])[1], 16)
        runs = [(int(a, 16), None if b.startswith('<') else int(b, 16), int(c, 16))
                for a, b, c in re.findall(r'^\s*0x([0-9a-f]+)\s+(0x[0-9a-f]+|<HOLE>)\s+0x([0-9a-f]+)\s*$', block, re.M)]
        yield name[1] if name else '', flags, re.search(r'Resident:\s*Yes', block) is not None, runs
def extents(parts, stream, cluster, base):
    mine = [p for p in parts if p[0] == stream]
    if not mine or mine[0][2] or any(p[1] & 1 for p in mine):
        return None                                  # inside the record, or packed: no plain places
    runs = sorted({run for p in mine for run in p[3]}, key=lambda run: run[0])
    return [[v * cluster, None if l is None else base + l * cluster, n * cluster] for v, l, n in runs]
rows, root, device, cluster, base, points = sys.argv[1], sys.argv[2], sys.argv[3], int(sys.argv[4]), int(sys.argv[5]), sys.argv[6]
out = []
for row in json.load(open(rows)):
    if row['path'].split('/')[0] in ('scratch', 'ballast') or row['path'].startswith('points/'):
        continue
    out.append(row)
    if row['type'] != 'file':
        continue
    full = os.path.join(root, row['path'])
    parts = list(attributes(device, os.stat(full).st_ino))
    # Clusters that were reserved and never written hold anything: the driver shows zeros.
    row['extents'] = None if row['path'] == 'odd/reserved.bin' else extents(parts, '', cluster, base)
    try:
        names = os.getxattr(full, 'ntfs.streams.list').decode().split('\0')
    except OSError:
        names = []
    for name in filter(None, names):
        data = open(f'{full}:{name}', 'rb').read()
        out.append({'path': row['path'] + ':' + name, 'type': 'stream', 'size': len(data), 'sha256': hashlib.sha256(data).hexdigest(),
                    'mtime': row['mtime'], 'extents': extents(parts, name, cluster, base)})
for name, kind, told in (line.rstrip('\n').split('\t') for line in open(points)):
    if kind != 'unreadable':                         # the driver shows a target of its own making: what was written counts
        out.append({'path': 'points/' + name, 'type': kind, 'size': len(told.encode()), 'sha256': hashlib.sha256(told.encode()).hexdigest(),
                    'mtime': int(os.lstat(f'{root}/points/{name}').st_mtime), 'extents': None})
json.dump(out, open(rows, 'w'))
PY

packed() { # compressed: rows that shrink, noise that does not, zeros between noise
  mkdir "$MOUNT/packed"; setfattr -n system.ntfs_attrib_be -v 0x00000800 "$MOUNT/packed"
  python3 - "$MOUNT/packed" "$SEED" <<'PY'
import random, sys
r, folder = random.Random(int(sys.argv[2]) + 7), sys.argv[1]
def put(name, data): open(f'{folder}/{name}', 'wb').write(data)
for i in (1, 2, 3): put(f'table {i}.csv', b''.join(b'%d;row %d;padding padding padding %d\n' % (i, k // 7, r.randrange(9)) for k in range(4000 * i)))
put('does not shrink.bin', r.randbytes(200000))
put('mixed.bin', r.randbytes(70000) + bytes(150000) + r.randbytes(70001))
put('half noise.bin', b''.join(r.randbytes(3000) + bytes(5000) for _ in range(40)))
put('one long run.bin', b'a' * 300000)
put('ends in a unit.bin', b'xyz' * 21846)
PY
}
odd() {
  mkdir "$MOUNT/odd"
  python3 - "$MOUNT/odd" "$SEED" <<'PY'
import os, random, sys
r, folder = random.Random(int(sys.argv[2]) + 8), sys.argv[1]
def put(name, data): open(f'{folder}/{name}', 'wb').write(data)
put('字' * 251 + '.txt', b'a name of 255 units\n')
put('back\\slash..\\..\\x.txt', b'hostile\n'); put('ctrl-\x01-\x7f.txt', b'hostile too\n'); put('<b>markup&amp.html', b'and this\n')
with open(f'{folder}/holes.bin', 'wb') as f:
    for at in (100000, 1500000, 2900000): f.seek(at); f.write(r.randbytes(9999))
    f.truncate(3 << 20)
put('streams.txt', b'main stream\n')
for i in range(40): put(f'streams.txt:side {i}', r.randbytes(i * 97 + 5))
put('streams.txt:large', r.randbytes(300000))
put('linked.bin', r.randbytes(30000)); os.link(f'{folder}/linked.bin', f'{folder}/second name.bin')
put('long name with short twin.txt', b'two name spaces\n')
put('small linked.txt', b'in two folders\n'); os.mkdir(f'{folder}/sub'); os.link(f'{folder}/small linked.txt', f'{folder}/sub/other folder.txt')
os.symlink('media/clip 0.mov', f'{folder}/link to clip'); os.symlink('/' + 'x' * 90 + '/far', f'{folder}/long link')
PY
  setfattr -n system.ntfs_dos_name -v 'LONGNA~1.TXT' "$MOUNT/odd/long name with short twin.txt"
}
shredded() { # fill the volume, free a scattered half of many small files, write one file into what is left
  mkdir "$MOUNT/scratch"; local i freed=0 piece=$((CLUSTER > 4096 ? CLUSTER : 4096))
  for ((i = 0; i < 500; i++)); do head -c $piece /dev/urandom > "$MOUNT/scratch/$i"; done; sync -f "$MOUNT"
  dd if=/dev/zero of="$MOUNT/ballast" bs=64K status=none 2>/dev/null || true; dd if=/dev/zero of="$MOUNT/ballast" bs="$CLUSTER" oflag=append conv=notrunc status=none 2>/dev/null || true
  for ((i = 0; i < 500; i++)); do [ $(((i * 2654435761 >> 13) & 1)) = 1 ] || { rm "$MOUNT/scratch/$i"; freed=$((freed + 1)); }; done; sync -f "$MOUNT"
  python3 -c "import random,sys;sys.stdout.buffer.write(random.Random($SEED+9).randbytes($piece*($freed-9)))" > "$MOUNT/odd/shredded.bin"; sync -f "$MOUNT"
  rm -rf "$MOUNT/scratch" "$MOUNT/ballast"
}
crowd() {
  mkdir "$MOUNT/crowd"; local i
  for ((i = 0; i < 500; i++)); do echo "$SEED $i" > "$MOUNT/crowd/entry with a fairly long name $i.txt"; done
}
points() { # reparse data: tag u32, length u16, 0 u16, buffer; buffers by the structures that the reader names
  mkdir "$MOUNT/points"
  python3 - "$MOUNT/points" > "$OUT/points.tsv" <<'PY'
import os, struct, sys
folder = sys.argv[1]
def point(name, tag, buffer, data=b'', is_folder=False):
    path = f'{folder}/{name}'
    os.mkdir(path) if is_folder else open(path, 'wb').write(data)
    os.setxattr(path, 'system.ntfs_reparse_data', struct.pack('<IHH', tag, len(buffer), 0) + buffer)
def names(substitute, shown, flags=None):
    a, b = substitute.encode('utf-16le'), shown.encode('utf-16le')
    return struct.pack('<HHHH', 0, len(a), len(a), len(b)) + (b'' if flags is None else struct.pack('<I', flags)) + a + b
point('junction', 0xA0000003, names('\\??\\D:\\far away', 'D:\\far away'), is_folder=True)
point('symlink.txt', 0xA000000C, names('..\\odd\\linked.bin', '..\\odd\\linked.bin', 1))
point('system compressed.exe', 0x80000017, struct.pack('<IIII', 1, 2, 1, 0), b'')
point('deduplicated.doc', 0x80000013, bytes(32), b'')
point('cloud.jpg', 0x9000601A, bytes(24), b'')
point('unknown tag.bin', 0x80000019, bytes(8), b'plain content')
print('junction\tlink\tD:\\far away'); print('symlink.txt\tlink\t..\\odd\\linked.bin')
for name, word in (('system compressed.exe', 'system compression'), ('deduplicated.doc', 'chunk store'), ('cloud.jpg', 'cloud')): print(f'{name}\tunreadable\t{word}')
print('unknown tag.bin\tfile\tplain content')
PY
}

tree gen "$SEED" "$WORK/tree" --small 300 --big 3 --big-max 2000000 --woven 3
blank "$IMAGE" $((START + BYTES)); loop "$IMAGE" "$START" "$BYTES" "$SECTOR"
mkntfs -Q -c "$CLUSTER" -s "$SECTOR" -L "ARBEIT ü" -p $((START / SECTOR)) -H 16 -S 63 "$LOOP" >&2
for phase in fill drop; do
  ntfs-3g -o streams_interface=windows,compression "$LOOP" "$MOUNT" >&2
  tree $phase "$WORK/tree" "$MOUNT"
  if [ $phase = fill ]; then odd; [ "$CLUSTER" -gt 4096 ] || packed; shredded; crowd; points
  else for ((i = 0; i < 500; i += 3)); do rm "$MOUNT/crowd/entry with a fairly long name $i.txt"; done; fi
  unmount
  if [ $phase = fill ]; then
    ntfs-3g -o streams_interface=windows "$LOOP" "$MOUNT" >&2; head -c 10000 /dev/urandom > "$MOUNT/odd/reserved.bin"; unmount
    ntfsfallocate -f -l 90000 "$LOOP" odd/reserved.bin >&2
  fi
  ntfs-3g -o streams_interface=windows,ro "$LOOP" "$MOUNT" >&2
  manifest scan "$MOUNT" "$WORK/$phase.rows"
  python3 "$WORK/ntfs.py" "$WORK/$phase.rows" "$MOUNT" "$LOOP" "$CLUSTER" "$START" "$OUT/points.tsv"
  unmount
done
for inode in 0 6; do ntfsinfo -f -v -i $inode "$LOOP" > "$OUT/inode-$inode.txt"; done
ntfsinfo -f -m "$LOOP" > "$OUT/volume.txt"
unloop
manifest write "$IMAGE" "$START" "$WORK/drop.rows" "$WORK/fill.rows" --source "$WORK/tree" > "$MANIFEST"
