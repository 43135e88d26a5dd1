#!/bin/bash
# make-exfat.sh FOLDER [SECTOR [CLUSTER [SEED]]]: exFAT on the whole image, made by exfatprogs, filled through exfat-fuse;
# content read back through a read-only mount, places asked of grub-fstest, health of fsck.exfat.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
SECTOR=${2:-512} CLUSTER=${3:-4096} SEED=${4:-20260301}

tree gen "$SEED" "$WORK/tree" --small 300 --big 3 --woven 3
blank "$IMAGE" 64M; loop "$IMAGE" 0 64M "$SECTOR"
mkfs.exfat -L FIELD-REC -c "$CLUSTER" "$LOOP" >&2
for phase in fill drop; do
  mount.exfat-fuse "$LOOP" "$MOUNT" >&2; tree $phase "$WORK/tree" "$MOUNT"; unmount
  mount.exfat-fuse -o ro "$LOOP" "$MOUNT" >&2
  manifest extents-grub "$MOUNT" "$LOOP" 0 "$WORK/$phase.extents"
  manifest scan "$MOUNT" "$WORK/$phase.rows" "$WORK/$phase.extents"
  unmount
done
fsck.exfat -n "$LOOP" >&2
unloop
manifest write "$IMAGE" 0 "$WORK/drop.rows" "$WORK/fill.rows" --source "$WORK/tree" > "$MANIFEST"
