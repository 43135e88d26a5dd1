#!/bin/bash
# make-fat.sh FOLDER BITS [SECTOR [SEED]]: FAT12, 16 or 32 on the whole image, made by dosfstools, filled with mtools;
# content read back by mcopy, clusters asked of mshowfat, health of fsck.fat.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
BITS=${2:?12, 16 or 32} SECTOR=${3:-512} SEED=${4:-20260301}
case $BITS in
  12) LENGTH=8M CLUSTER=4; OPTIONS="--small 60 --big 1 --big-max 900000 --woven 2 --chunks 20 --chunk 8192 --deep 5 --gaps 60 --doomed 6";;
  16) LENGTH=40M CLUSTER=4; OPTIONS="--small 200";;
  32) LENGTH=64M CLUSTER=1; OPTIONS="--small 200";;
  *) echo "BITS is 12, 16 or 32, not $BITS" >&2; exit 2;;
esac
# The type follows from the number of clusters, so larger sectors need a larger (sparse) image.
[ "$SECTOR" = 512 ] || { LENGTH=$((${LENGTH%M} * SECTOR / 512 / (BITS == 32 ? 1 : CLUSTER)))M; CLUSTER=1; }
[ "$SECTOR$BITS" = 409632 ] && LENGTH=288M

list() { # ROWS
  rm -rf "$WORK/out"; mkdir "$WORK/out"
  mcopy -s -m -n -Q -i "$IMAGE" '::/*' "$WORK/out"
  python3 "$HERE/common-mshowfat.py" "$IMAGE" "$WORK/out" "$WORK/extents"
  manifest scan "$WORK/out" "$1" "$WORK/extents"
}

tree gen "$SEED" "$WORK/tree" --bmp $OPTIONS
blank "$IMAGE" "$LENGTH"
mkfs.fat -F "$BITS" -S "$SECTOR" -s "$CLUSTER" -n "FIELD REC" -i 1234abcd --invariant "$IMAGE" >&2
mcopy -s -m -Q -i "$IMAGE" "$WORK"/tree/tree/* ::/
mmd -i "$IMAGE" ::/gap ::/pieces
GAPS=$(python3 -c 'import json,sys; o=json.load(open(sys.argv[1])); print(o["gaps"], o["chunk"])' "$WORK/tree/options.json")
read -r GAPS CHUNK <<< "$GAPS"
mkdir "$WORK/gap"; for ((i = 0; i < GAPS; i++)); do head -c "$CHUNK" /dev/zero > "$WORK/gap/g$i"; done
mcopy -Q -i "$IMAGE" "$WORK"/gap/* ::/gap/
mdel -i "$IMAGE" $(for ((i = 0; i < GAPS; i += 2)); do echo "::/gap/g$i"; done)
# FAT32's hint of the next free cluster would put new files behind the gaps: say "unknown".
[ "$BITS" = 32 ] && printf '\377\377\377\377' | dd of="$IMAGE" bs=1 seek=$((SECTOR + 492)) conv=notrunc status=none
mcopy -m -Q -i "$IMAGE" "$WORK"/tree/woven/* ::/pieces/
mdeltree -i "$IMAGE" ::/gap
list "$WORK/fill.rows"
while IFS= read -r path; do printf '::/%s\0' "$path"; done < "$WORK/tree/doomed.lst" | xargs -0 mdel -i "$IMAGE"
mcopy -m -s -Q -n -o -i "$IMAGE" "$WORK"/tree/late/* ::/
list "$WORK/drop.rows"
fsck.fat -n "$IMAGE" >&2
manifest write "$IMAGE" 0 "$WORK/drop.rows" "$WORK/fill.rows" --source "$WORK/tree" > "$MANIFEST"
