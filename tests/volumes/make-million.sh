#!/bin/bash
# make-million.sh FOLDER [FOLDERS [FILES]]: exFAT with FOLDERS x FILES files of 1234 bytes (a million by default), for measuring a full listing.
# mkfs.exfat makes the volume; its folders are written by the script, because exfat-fuse takes an hour for them; fsck.exfat checks them.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
FOLDERS=${2:-1000} FILES=${3:-1000}
blank "$IMAGE" $((FOLDERS * FILES * 4500 / (1 << 20) + 64))M
loop "$IMAGE"; mkfs.exfat -L MILLION -c 4096 "$LOOP" >&2; unloop
python3 - "$IMAGE" "$FOLDERS" "$FILES" <<'PY'
import struct, sys
image, folders, files = open(sys.argv[1], 'r+b'), int(sys.argv[2]), int(sys.argv[3])
CLUSTER = 4096
boot = image.read(512)
fat, heap, root = (struct.unpack_from('<I', boot, at)[0] for at in (80, 88, 96))
fat, heap = fat << boot[108], heap << boot[108]

def place(cluster):
    return heap + (cluster - 2) * CLUSTER

def rotate(value, data):
    for b in data:
        value = ((value >> 1 | value << 15) + b) & 0xFFFF
    return value

def entry_set(name, attributes, cluster, size):
    name_bytes = name.encode('utf-16le')
    count = 1 + (len(name) + 14) // 15
    head = struct.pack('<BBHHHIII', 0x85, count, 0, attributes, 0, 0x5c643f5c, 0x5c643f5c, 0x5c643f5c) + bytes([0, 0, 0x80, 0x80, 0x80]) + bytes(7)
    stream = struct.pack('<BBBBHHQIIQ', 0xC0, 3, 0, len(name), rotate(0, name.upper().encode('utf-16le')), 0, size, 0, cluster, size)
    names = b''.join(b'\xc1\0' + name_bytes[i:i + 30].ljust(30, b'\0') for i in range(0, len(name_bytes), 30))
    total = rotate(rotate(0, head[:2]), head[4:] + stream + names)
    return head[:2] + struct.pack('<H', total) + head[4:] + stream + names

def clusters(size):
    return (size + CLUSTER - 1) // CLUSTER

image.seek(place(root))
front = image.read(96)
bitmap = struct.unpack_from('<I', front, 32 + 20)[0]
assert front[32] == 0x81
root_size = 96 + folders * 96
extra, used = clusters(root_size) - 1, root + 1
chain = [root] + list(range(used, used + extra))
used += extra
folder_clusters = clusters(files * 128)
listing = bytearray(front)
for d in range(folders):
    at, used = used, used + folder_clusters
    listing += entry_set(f'folder {d:04d}', 0x10, at, folder_clusters * CLUSTER)
    body = b''.join(entry_set(f'recording {f:04d}.wav', 0x20, used + f, 1234) for f in range(files))
    used += files
    image.seek(place(at)); image.write(body.ljust(folder_clusters * CLUSTER, b'\0'))
listing = listing.ljust(len(chain) * CLUSTER, b'\0')
for i, cluster in enumerate(chain):
    image.seek(place(cluster)); image.write(listing[i * CLUSTER:(i + 1) * CLUSTER])
    image.seek(fat + cluster * 4); image.write(struct.pack('<I', chain[i + 1] if i + 1 < len(chain) else 0xFFFFFFFF))
bits = used - 2
image.seek(place(bitmap)); image.write(b'\xff' * (bits // 8) + bytes([(1 << bits % 8) - 1]) * (bits % 8 > 0))
PY
loop "$IMAGE"; fsck.exfat -n "$LOOP" >&2; unloop
printf 'volumeOffset\tpath\ttype\tsize\tsha256\tmtime\tdeleted\tproof\textents\n' > "$MANIFEST"
