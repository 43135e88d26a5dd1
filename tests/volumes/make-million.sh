#!/bin/bash
# make-million.sh FOLDER [FOLDERS [FILES]]: exFAT with FOLDERS x FILES small files (a million by default), for measuring a full listing.
# Filled through exfat-fuse, which takes some ten minutes; the manifest stays empty, the outside tool's own listing is the reference.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
FOLDERS=${2:-1000} FILES=${3:-1000}
blank "$IMAGE" $((FOLDERS * FILES * 640 + (512 << 20)))
loop "$IMAGE"
mkfs.exfat -L MILLION -c 512 "$LOOP" >&2
mount.exfat-fuse "$LOOP" "$MOUNT" >&2
python3 - "$MOUNT" "$FOLDERS" "$FILES" <<'PY'
import os, sys
mount, folders, files = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
for d in range(folders):
    os.mkdir(f'{mount}/folder {d:04d}')
    for f in range(files):
        with open(f'{mount}/folder {d:04d}/recording {f:04d}.wav', 'wb') as out:
            out.write(b'%d %d' % (d, f))
PY
unmount
unloop
printf 'volumeOffset\tpath\ttype\tsize\tsha256\tmtime\tdeleted\tproof\textents\n' > "$MANIFEST"
