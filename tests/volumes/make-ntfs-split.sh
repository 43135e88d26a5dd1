#!/bin/bash
# make-ntfs-split.sh FOLDER [SEED]: NTFS whose file table lies in very many pieces, so that $MFT itself needs an attribute list.
# A full volume loses one in four of many small files; the table then grows into the gaps.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
SEED=${2:-20260301}

blank "$IMAGE" 24M; loop "$IMAGE" 0 24M
mkntfs -Q -c 4096 -s 512 -L SPLIT -p 0 -H 16 -S 63 "$LOOP" >&2
ntfs-3g "$LOOP" "$MOUNT" >&2
python3 - "$MOUNT" "$SEED" <<'PY'
import os, random, sys
mount, r = sys.argv[1], random.Random(int(sys.argv[2]))
def put(path, data):
    with open(f'{mount}/{path}', 'wb') as file: file.write(data)
os.mkdir(f'{mount}/gap'); os.mkdir(f'{mount}/kept')
for i in range(3000): put(f'gap/{i}', bytes(4096))
os.sync()
try:
    with open(f'{mount}/ballast', 'wb', buffering=0) as file:
        while True: file.write(bytes(4096))
except OSError: pass
for i in [i for i in range(3000) if r.random() < 0.25]: os.remove(f'{mount}/gap/{i}')
os.sync()
for i in range(2200): put(f'kept/number {i}.txt', b'%d of a table in pieces\n' % i)
PY
rm -rf "$MOUNT/ballast"; unmount
ntfs-3g -o ro "$LOOP" "$MOUNT" >&2
manifest scan "$MOUNT" "$WORK/rows"
unmount
ntfsinfo -f -v -i 0 "$LOOP" > "$OUT/inode-0.txt" 2>&1
unloop
manifest write "$IMAGE" 0 "$WORK/rows" > "$MANIFEST"
