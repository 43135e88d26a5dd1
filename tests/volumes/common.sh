# Shared by the scripts that make fixture volumes; 'source' it. Needs root, because it mounts what it makes.
# Leaves: HERE (this folder), OUT (the script's first argument), WORK (removed at the end), IMAGE, MANIFEST, MOUNT.
set -euo pipefail
export LC_ALL=C.UTF-8 TZ=UTC MTOOLSRC=/dev/null MTOOLS_SKIP_CHECK=1
HERE=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
[ "$(id -u)" = 0 ] || { echo "must run as root: it mounts the image it makes" >&2; exit 2; }
OUT=${1:?usage: SCRIPT FOLDER [ARGUMENTS]}; mkdir -p "$OUT"; OUT=$(cd "$OUT" && pwd)
WORK=$(mktemp -d); MOUNT=$WORK/mount; mkdir "$MOUNT"; IMAGE=$OUT/image.raw; MANIFEST=$OUT/manifest.tsv; LOOPS=()

finish() {
  local code=$? device
  mountpoint -q "$MOUNT" && umount "$MOUNT" || true
  for device in "${LOOPS[@]}"; do losetup -d "$device" 2>/dev/null || true; done
  rm -rf --one-file-system "$WORK"
  exit $code
}
trap finish EXIT

blank() { rm -f "$1"; truncate -s "$2" "$1"; }                 # FILE SIZE
loop() { # FILE [OFFSET LENGTH [SECTOR]] -> LOOP
  LOOP=$(losetup -f --show -o "${2:-0}" ${3:+--sizelimit "$3"} ${4:+-b "$4"} "$1"); LOOPS+=("$LOOP"); }
unloop() { # forget it too: at the end its number may belong to another script's device
  local kept=() device
  sync; losetup -d "$LOOP"
  for device in "${LOOPS[@]}"; do [ "$device" = "$LOOP" ] || kept+=("$device"); done
  LOOPS=("${kept[@]}"); sleep 0.05; }
unmount() { # a file system in user space lives on for a moment after umount: wait until nobody holds the device
  local i; sync -f "$MOUNT"
  for i in $(seq 40); do umount "$MOUNT" 2>/dev/null && break; sleep 0.1; done
  for i in $(seq 100); do fuser -s "${LOOP:-/nowhere}" 2>/dev/null || return 0; sleep 0.05; done; }
tree() { python3 "$HERE/common-tree.py" "$@"; }
manifest() { python3 "$HERE/common-manifest.py" "$@"; }
