#!/bin/bash
# make-ext.sh FOLDER VARIANT [SEED]: ext2/3/4 on the whole image, made by mke2fs, filled by the kernel's own driver;
# content read back through a second, read-only mount, places asked by FIEMAP (filefrag), health of e2fsck.
# Variants: see the list below. 'waiting' is taken while mounted, so that its journal must be followed; its facts come
# from a copy that the kernel itself followed the journal of. 'removed' deletes with debugfs, which leaves block maps as
# drivers of old did. 'small-sealed' also has a folder 'sealed' that the kernel encrypted (fscrypt, key 00 01 02 .. 3F), not in the manifest.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
VARIANT=${2:?usage: make-ext.sh FOLDER VARIANT} SEED=${3:-20260304}

SIZE=64M KIND=ext4 TREE=(--small 150 --big 2 --woven 2) PEOPLE=300
case $VARIANT in
  ext2)      KIND=ext2 OPTIONS=(-b 1024) ;;
  ext2-wide) KIND=ext2 OPTIONS=(-b 4096 -O ^sparse_super,^resize_inode) SIZE=160M ;;
  removed)   KIND=ext2 OPTIONS=(-b 1024) ;;
  ext3)      KIND=ext3 OPTIONS=(-b 1024) ;;
  ext4)      OPTIONS=(-b 4096) SIZE=160M PEOPLE=1500 ;;
  ext4-1k)   OPTIONS=(-b 1024 -O ^64bit) ;;
  waiting)   OPTIONS=(-b 4096 -J size=8) ;;
  gdt-sums)  OPTIONS=(-b 1024 -O ^metadata_csum,uninit_bg) ;;
  meta-bg)   OPTIONS=(-b 1024 -O meta_bg,^resize_inode) SIZE=300M ;;
  no-flex)   OPTIONS=(-b 1024 -O ^flex_bg,^metadata_csum,^uninit_bg) ;;
  inline)    OPTIONS=(-b 4096 -I 512 -O inline_data -J size=8) ;;
  bigalloc)  OPTIONS=(-b 1024 -C 8192 -O bigalloc) ;;
  block-map) OPTIONS=(-b 1024 -O ^extents,^64bit) ;;
  sparse2)   OPTIONS=(-b 1024 -O sparse_super2,^resize_inode -E num_backup_sb=2) ;;
  small-*)   SIZE=6M TREE=(--small 60 --big 1 --big-max 300000 --woven 1 --chunks 12 --gaps 12 --deep 4) PEOPLE=150
    case $VARIANT in
      small-ext2)    KIND=ext2 OPTIONS=(-b 1024 -N 512) ;;
      small-ext4)    OPTIONS=(-b 1024 -N 512 -J size=1) ;;
      small-inline)  OPTIONS=(-b 1024 -N 512 -I 256 -O inline_data -J size=1 -g 1024) ;;
      small-sealed)  OPTIONS=(-b 1024 -N 512 -J size=1 -O encrypt) ;;
      small-waiting) OPTIONS=(-b 1024 -N 512 -J size=1) ;;
    esac ;;
  *) echo "no variant $VARIANT" >&2; exit 2 ;;
esac

extras() { # things that the seeded tree does not have
  ln -s "media/clip 0.mov" "$MOUNT/link to clip"
  ln -s "/$(printf 'x%.0s' $(seq 90))/long target" "$MOUNT/long link"
  ln "$MOUNT/edges/size-4097.bin" "$MOUNT/edges/hard link.bin"
  truncate -s 9M "$MOUNT/edges/holes.bin"; printf 'island' | dd of="$MOUNT/edges/holes.bin" bs=1 seek=5000000 conv=notrunc status=none
  case $KIND:$VARIANT in ext4:block-map) ;; ext4:*) fallocate -l 300000 "$MOUNT/edges/reserved.bin"; printf 'start' | dd of="$MOUNT/edges/reserved.bin" conv=notrunc status=none ;; esac
  mkdir "$MOUNT/crowd"; python3 -c "
import sys
for i in range(int(sys.argv[2])): open(f'{sys.argv[1]}/crowd/one of a great many people {i:05d}', 'w').write(str(i) if i % 3 == 0 else '')" "$MOUNT" $PEOPLE
  mkfifo "$MOUNT/edges/pipe"; mknod "$MOUNT/edges/node" c 1 3
}
facts() { # PHASE IMAGE: what the driver says of it, on a read-only mount
  manifest extents-fiemap "$MOUNT" 0 "$WORK/$1.extents"
  manifest scan "$MOUNT" "$WORK/$1.rows" "$WORK/$1.extents"
}
remove_by_hand() { # as drivers of old did: the map stays, the blocks are given back
  sed 's/.*/rm "&"/' "$WORK/tree/doomed.lst" > "$WORK/commands"
  debugfs -w -f "$WORK/commands" "$LOOP" >&2 2>&1
}

seal() { # a folder with a policy of version 2: names AES-256-CTS-CBC, content AES-256-XTS
  mkdir "$MOUNT/sealed"
  python3 - "$MOUNT" <<'EOF_PY'
import fcntl, os, struct, sys
ADD_KEY, SET_POLICY = (3 << 30) | (80 << 16) | (ord('f') << 8) | 23, (2 << 30) | (12 << 16) | (ord('f') << 8) | 19
key = bytearray(struct.pack('<II32sII32s', 2, 0, b'', 64, 0, b'') + bytes(range(64)))
fcntl.ioctl(os.open(sys.argv[1], os.O_RDONLY), ADD_KEY, key)
fcntl.ioctl(os.open(sys.argv[1] + '/sealed', os.O_RDONLY), SET_POLICY, struct.pack('<BBBB4s16s', 2, 1, 4, 2, b'', bytes(key[8:24])))
open(sys.argv[1] + '/sealed/secret.txt', 'w').write('hidden')
os.symlink('secret.txt', sys.argv[1] + '/sealed/link')
os.mkdir(sys.argv[1] + '/sealed/inner')
EOF_PY
}

tree gen "$SEED" "$WORK/tree" "${TREE[@]}"
blank "$IMAGE" $SIZE; loop "$IMAGE"
mke2fs -q -F -t $KIND "${OPTIONS[@]}" -L "EXT $VARIANT" -E lazy_itable_init=0,lazy_journal_init=0 -U 6f1c2e0a-7d35-4c52-9d0f-3b8a5e10c4d2 "$LOOP" >&2
mount -t $KIND -o rw,noatime "$LOOP" "$MOUNT"; tree fill "$WORK/tree" "$MOUNT"; extras; unmount
mount -t $KIND -o ro,noatime "$LOOP" "$MOUNT"; facts fill; unmount
case $VARIANT in
  removed) remove_by_hand ;;
  *waiting)
    mount -t $KIND -o rw,noatime "$LOOP" "$MOUNT"; tree drop "$WORK/tree" "$MOUNT"; sync -f "$MOUNT"
    cp --sparse=always "$IMAGE" "$WORK/taken.raw"; unmount
    mv "$WORK/taken.raw" "$IMAGE.taken"; cp --sparse=always "$IMAGE.taken" "$WORK/followed.raw"
    unloop; loop "$WORK/followed.raw"
    mount -t $KIND "$LOOP" "$MOUNT"; unmount ;;
  *) mount -t $KIND -o rw,noatime "$LOOP" "$MOUNT"; tree drop "$WORK/tree" "$MOUNT"; unmount ;;
esac
mount -t $KIND -o ro,noatime "$LOOP" "$MOUNT"; facts drop; unmount
[ $VARIANT != small-sealed ] || { mount -t $KIND -o rw,noatime "$LOOP" "$MOUNT"; seal; unmount; }
e2fsck -fn "$LOOP" >&2
[[ $VARIANT != *waiting ]] || mv "$IMAGE.taken" "$IMAGE"
unloop
case $VARIANT in removed) SOURCE=() ;; *) SOURCE=(--source "$WORK/tree") ;; esac
manifest write "$IMAGE" 0 "$WORK/drop.rows" "$WORK/fill.rows" "${SOURCE[@]}" > "$MANIFEST"
