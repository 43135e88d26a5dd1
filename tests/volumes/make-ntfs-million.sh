#!/bin/bash
# make-ntfs-million.sh FOLDER [FOLDERS [FILES]]: NTFS with FOLDERS folders of FILES files each (1,000 x 1,000), one file in four
# with clusters of its own. For measuring, not for checking: the manifest holds only the counts. Takes some minutes.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
FOLDERS=${2:-1000} FILES=${3:-1000}

blank "$IMAGE" 8G; loop "$IMAGE" 0 8G
mkntfs -Q -c 4096 -L MILLION "$LOOP" >&2
ntfs-3g -o big_writes "$LOOP" "$MOUNT" >&2
python3 - "$MOUNT" "$FOLDERS" "$FILES" <<'PY'
import os, sys
root, folders, files = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
for i in range(folders):
    folder = f'{root}/area {i // 40:03d}/folder {i:05d}'
    os.makedirs(folder)
    for k in range(files):
        handle = os.open(f'{folder}/measured file {k:06d}.dat', os.O_WRONLY | os.O_CREAT)
        os.write(handle, b'%d %d\n' % (i, k) if k % 4 else b'%d %d\n' % (i, k) * 500)
        os.close(handle)
PY
unmount; unloop
printf 'volumeOffset\tpath\ttype\tsize\tsha256\tmtime\tdeleted\tproof\textents\n' > "$MANIFEST"
