#!/bin/bash
# make-hfsplus-xorriso.sh FOLDER: an HFS+ volume inside an Apple partition map, written by xorriso, whose authors share no code with
# the Linux kernel's driver. The manifest is the source tree: xorriso is the outside tool.
set -eu -o pipefail
export LC_ALL=C.UTF-8
[ $# = 1 ] || { sed -n '2p' "$0" >&2; exit 2; }
command -v xorriso > /dev/null || { echo "make-hfsplus-xorriso.sh: xorriso is missing (Debian: xorriso)" >&2; exit 1; }
work=$(mktemp -d); trap 'rm -rf "$work"' EXIT
python3 - "$work/tree" <<'EOF_TREE'
import os, random, sys, unicodedata
r, top = random.Random(20261126), sys.argv[1]
def put(path, data):
    p = f'{top}/{path}'; os.makedirs(os.path.dirname(p), exist_ok=True); open(p, 'wb').write(data)
for i in range(600): put(f'folder {i % 37:02}/file {i:04}.bin', r.randbytes(r.randint(0, 6000)))
for name in ('Grüße.txt', '写真.jpg', 'Ελλην.doc', 'n' * 200): put('names/' + unicodedata.normalize('NFC', name), r.randbytes(500))
put('large.bin', r.randbytes(3_000_001))
EOF_TREE
xorriso -as mkisofs -quiet -hfsplus -hfsplus-block-size 2048 -R -V OUTSIDE -o "$1/image.raw" "$work/tree" 2> "$work/log" || { cat "$work/log" >&2; exit 1; }
python3 - "$work/tree" "$1/image.raw" > "$1/manifest.tsv" <<'EOF_MANIFEST'
import hashlib, os, sys, unicodedata
top, image = sys.argv[1:]
at = next(int.from_bytes(e[8:12], 'big') * 512 for e in (open(image, 'rb').read(8192)[512 * i:512 * i + 512] for i in range(1, 16)) if e[:2] == b'PM' and e[48:57] == b'Apple_HFS')
print('volume', 'path', 'type', 'size', 'sha256', 'mtime', 'deleted', 'proof', 'extents', sep='\t')
for folder, folders, names in os.walk(top):
    for n in folders: print(at, os.path.relpath(f'{folder}/{n}', top), 'dir', 0, '', '', 0, 'unproven', '', sep='\t')
    for n in names:
        p = f'{folder}/{n}'; data = open(p, 'rb').read()
        print(at, unicodedata.normalize('NFD', os.path.relpath(p, top)), 'file', len(data), hashlib.sha256(data).hexdigest(), int(os.stat(p).st_mtime), 0, 'unproven', '', sep='\t')
EOF_MANIFEST
