#!/bin/bash
# make-ext-million.sh FOLDER
# An ext4 volume with one million small files in 10,100 folders, written by the kernel's own driver: for the
# benchmark, not for tests. Leaves image.raw (sparse, about 5 GB stored). Runs as root, takes some minutes.
set -euo pipefail
export LC_ALL=C.UTF-8
folder=$1; image=$folder/image.raw; mount=$(mktemp -d); device=
finish() { mountpoint -q "$mount" && umount "$mount"; [ -n "$device" ] && losetup -d "$device"; rmdir "$mount"; }
trap finish EXIT
rm -f "$image"; truncate -s 8G "$image"
mke2fs -q -F -t ext4 -b 4096 -N 1100000 -L MILLION "$image"
device=$(losetup -f --show "$image")
mount -t ext4 -o rw,noatime "$device" "$mount"
python3 - "$mount" <<'EOF_PY'
import os, sys
for a in range(100):
    for b in range(100):
        at = f'{sys.argv[1]}/shelf {a:02d}/box {b:02d}'
        os.makedirs(at)
        here = os.open(at, os.O_RDONLY)
        for c in range(100):
            file = os.open(f'letter {a:02d}-{b:02d}-{c:02d}.txt', os.O_WRONLY | os.O_CREAT, 0o644, dir_fd=here)
            os.write(file, b'letter %d of box %d on shelf %d\n' % (c, b, a))
            os.close(file)
        os.close(here)
EOF_PY
umount "$mount"
