#!/bin/bash
# make-recognised.sh FOLDER KIND: an empty volume of a kind that is only recognised, made by its own tools.
source "$(dirname "${BASH_SOURCE[0]}")/common.sh" "$@"
KIND=${2:?xfs, btrfs, luks1, luks2, lvm or swap} UUID=11111111-2222-4333-8444-555555555555
LENGTH=32M; [ $KIND != xfs ] || LENGTH=320M; [ $KIND != btrfs ] || LENGTH=128M
blank "$IMAGE" $LENGTH
case $KIND in
  xfs) mkfs.xfs -q -f -L XVOL -m uuid=$UUID "$IMAGE" >&2;;
  btrfs) mkfs.btrfs -q -f -L BVOL -U $UUID "$IMAGE" >&2;;
  luks1) printf secret | cryptsetup luksFormat -q --type luks1 --uuid $UUID --pbkdf-force-iterations 1000 "$IMAGE" - >&2;;
  luks2) printf secret | cryptsetup luksFormat -q --type luks2 --uuid $UUID --label VAULT --pbkdf pbkdf2 --pbkdf-force-iterations 1000 "$IMAGE" - >&2;;
  lvm) loop "$IMAGE"; pvcreate -q -y "$LOOP" >&2; unloop;;
  swap) mkswap -q -U $UUID -L SWAPVOL "$IMAGE" >&2;;
  *) echo "unknown kind $KIND" >&2; exit 2;;
esac
printf 'volumeOffset\tpath\ttype\tsize\tsha256\tmtime\tdeleted\tproof\textents\n' > "$MANIFEST"
