#!/bin/bash
# make-fat.sh FOLDER BITS [SECTOR [SEED]]: FAT12, 16 or 32 on the whole image, made by dosfstools, filled with mtools;
# content read back by mcopy, clusters asked of mshowfat, health of fsck.fat.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
source "$HERE/common-clusters.sh"
BITS=${2:?12, 16 or 32} SECTOR=${3:-512}
# The type follows from the number of clusters alone, so larger sectors need a larger (sparse) image.
case $BITS-$SECTOR in
  12-512)  MIB=8   CLUSTER=4;;
  16-512)  MIB=40  CLUSTER=4;;
  32-512)  MIB=64  CLUSTER=1;;
  16-4096) MIB=80  CLUSTER=1;;
  32-4096) MIB=288 CLUSTER=1;;
  *) echo "no volume of FAT$BITS with sectors of $SECTOR bytes" >&2; exit 2;;
esac
OPTIONS="--small 200"
[ "$BITS" != 12 ] || OPTIONS="--small 60 --big 1 --big-max 900000 --woven 2 --chunks 20 --chunk 8192 --deep 5 --gaps 60 --doomed 6"
tree gen "${4:-20260301}" "$WORK/tree" --bmp $OPTIONS
blank "$IMAGE" ${MIB}M
fat_volume 0 $((MIB << 20)) "$BITS" "$SECTOR" "$CLUSTER" "FIELD REC" "$WORK/tree"
