#!/bin/bash
# make-exfat.sh FOLDER [SECTOR [CLUSTER [SEED]]]: exFAT on the whole image, made by exfatprogs, filled through exfat-fuse;
# content read back through a read-only mount, places asked of grub-fstest, health of fsck.exfat.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
source "$HERE/common-clusters.sh"
tree gen "${4:-20260301}" "$WORK/tree"
blank "$IMAGE" 64M
exfat_volume 0 $((64 << 20)) "${2:-512}" "${3:-4096}" FIELD-REC "$WORK/tree"
