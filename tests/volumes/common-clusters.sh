# How FAT and exFAT volumes are made and filled; 'source' it after common.sh. A volume lies at BASE in $IMAGE, which exists.

exfat_volume() { # BASE LENGTH SECTOR CLUSTER LABEL TREE [header|--append]
  local base=$1 length=$2 sector=$3 cluster=$4 label=$5 tree=$6 append=${7:-} phase
  loop "$IMAGE" "$base" "$length" "$sector"
  mkfs.exfat -L "$label" -c "$cluster" "$LOOP" >&2
  for phase in fill drop; do
    mount.exfat-fuse "$LOOP" "$MOUNT" >&2; tree $phase "$tree" "$MOUNT"; unmount
    mount.exfat-fuse -o ro "$LOOP" "$MOUNT" >&2
    manifest extents-grub "$MOUNT" "$LOOP" "$base" "$WORK/$phase.extents"
    manifest scan "$MOUNT" "$WORK/$phase.rows" "$WORK/$phase.extents"
    unmount
  done
  fsck.exfat -n "$LOOP" >&2
  unloop
  manifest write "$IMAGE" "$base" "$WORK/drop.rows" "$WORK/fill.rows" --source "$tree" $append >> "$MANIFEST"
}

fat_rows() { # BASE ROWS
  rm -rf "$WORK/out"; mkdir "$WORK/out"
  mcopy -s -m -n -Q -i "$IMAGE@@$1" '::/*' "$WORK/out"
  python3 "$HERE/common-mshowfat.py" "$IMAGE" "$1" "$WORK/out" "$WORK/extents"
  manifest scan "$WORK/out" "$2" "$WORK/extents"
}

fat_volume() { # BASE LENGTH BITS SECTOR SECTORS-PER-CLUSTER LABEL TREE [--append]
  local base=$1 length=$2 bits=$3 sector=$4 cluster=$5 label=$6 tree=$7 append=${8:-} gaps chunk i path
  blank "$WORK/part" "$length"
  mkfs.fat -F "$bits" -S "$sector" -s "$cluster" -n "$label" -i 1234abcd --invariant -h $((base / sector)) "$WORK/part" >&2
  # FAT32's hint of the next free cluster would put new files behind the gaps: say "unknown".
  [ "$bits" != 32 ] || printf '\377\377\377\377' | dd of="$WORK/part" bs=1 seek=$((sector + 492)) conv=notrunc status=none
  dd if="$WORK/part" of="$IMAGE" bs=1M seek="$base" oflag=seek_bytes conv=notrunc,sparse status=none
  mcopy -s -m -Q -i "$IMAGE@@$base" "$tree"/tree/* ::/
  mmd -i "$IMAGE@@$base" ::/gap ::/pieces
  read -r gaps chunk < <(python3 -c 'import json,sys; o=json.load(open(sys.argv[1])); print(o["gaps"], o["chunk"])' "$tree/options.json")
  rm -rf "$WORK/gap"; mkdir "$WORK/gap"; for ((i = 0; i < gaps; i++)); do head -c "$chunk" /dev/zero > "$WORK/gap/g$i"; done
  mcopy -Q -i "$IMAGE@@$base" "$WORK"/gap/* ::/gap/
  mdel -i "$IMAGE@@$base" $(for ((i = 0; i < gaps; i += 2)); do echo "::/gap/g$i"; done)
  [ "$bits" != 32 ] || printf '\377\377\377\377' | dd of="$IMAGE" bs=1 seek=$((base + sector + 492)) conv=notrunc status=none
  mcopy -m -Q -i "$IMAGE@@$base" "$tree"/woven/* ::/pieces/
  mdeltree -i "$IMAGE@@$base" ::/gap
  fat_rows "$base" "$WORK/fill.rows"
  while IFS= read -r path; do printf '::/%s\0' "$path"; done < "$tree/doomed.lst" | xargs -0 mdel -i "$IMAGE@@$base"
  mcopy -m -s -Q -n -o -i "$IMAGE@@$base" "$tree"/late/* ::/
  fat_rows "$base" "$WORK/drop.rows"
  dd if="$IMAGE" of="$WORK/part" bs=1M skip="$base" count="$length" iflag=skip_bytes,count_bytes status=none
  fsck.fat -n "$WORK/part" >&2
  rm "$WORK/part"
  manifest write "$IMAGE" "$base" "$WORK/drop.rows" "$WORK/fill.rows" --source "$tree" $append >> "$MANIFEST"
}
