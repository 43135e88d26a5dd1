#!/bin/bash
# make-partitions.sh FOLDER KIND: a disk with two volumes, its table written by sfdisk or sgdisk.
#   mbr      FAT16 in a primary partition, exFAT in the second of two logical ones (the first stays empty)
#   gpt      exFAT and FAT32, named; 'hybrid' the same with the first one repeated in the MBR
#   gpt-4k   the same table kind written through a device with 4096-byte sectors; mbr-4k likewise
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
source "$HERE/common-clusters.sh"
KIND=${2:?mbr, gpt, hybrid, gpt-4k or mbr-4k} MIB=$((1 << 20)) BASIC=EBD0A0A2-B9E5-4433-87C0-68B6B72699C7
tree gen 20260302 "$WORK/tree" --bmp --small 60 --big 1 --big-max 900000 --woven 2 --chunks 20 --chunk 8192 --deep 5 --gaps 60 --doomed 6
blank "$IMAGE" 72M

write_4k() { # SFDISK-SCRIPT
  loop "$IMAGE" 0 $((72 * MIB)) 4096; sfdisk -q --no-reread "$LOOP" <<< "$1" >&2; unloop; }

case $KIND in
  mbr)
    sfdisk -q "$IMAGE" >&2 <<< 'label: dos
label-id: 0x20260301
start=2048,size=49152,type=e,bootable
start=51200,size=96255,type=f
start=53248,size=2048,type=83
start=57344,size=81920,type=7'
    fat_volume $MIB $((24 * MIB)) 16 512 2 "MBR PART" "$WORK/tree"
    exfat_volume $((28 * MIB)) $((40 * MIB)) 512 4096 LOGICAL "$WORK/tree" --append;;
  gpt|hybrid)
    sgdisk -n 1:2048:+32M -t 1:0700 -c 1:photos -n 2:0:+37M -t 2:0700 -c 2:"Grüße, über alles" "$IMAGE" >&2
    exfat_volume $MIB $((32 * MIB)) 512 4096 PHOTOS "$WORK/tree"
    fat_volume $((33 * MIB)) $((37 * MIB)) 32 512 1 "FAT PART" "$WORK/tree" --append
    sgdisk -v "$IMAGE" >&2
    [ $KIND = gpt ] || sgdisk -h 1 "$IMAGE" >&2;;
  gpt-4k)
    write_4k "label: gpt
start=256,size=8192,type=$BASIC,name=\"four-k\"
start=8448,size=9472,type=$BASIC"
    exfat_volume $MIB $((32 * MIB)) 4096 4096 FOURK "$WORK/tree"
    exfat_volume $((33 * MIB)) $((37 * MIB)) 4096 8192 FOURK2 "$WORK/tree" --append;;
  mbr-4k)
    write_4k 'label: dos
start=256,size=8192,type=7
start=8448,size=9472,type=7'
    exfat_volume $MIB $((32 * MIB)) 4096 4096 FOURK "$WORK/tree"
    exfat_volume $((33 * MIB)) $((37 * MIB)) 4096 8192 FOURK2 "$WORK/tree" --append;;
  *) echo "unknown kind $KIND" >&2; exit 2;;
esac
