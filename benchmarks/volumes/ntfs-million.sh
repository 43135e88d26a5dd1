#!/bin/bash
# ntfs-million.sh [FOLDER]: a million entries of NTFS, listed by Turnstone and by the tools of ntfs-3g in turns, same image, same run.
# Makes the image once (FOLDER/image.raw, some minutes). Prints wall time and processor time of each; compare those of one round.
set -euo pipefail
HERE=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
FOLDER=${1:-/tmp/turnstone-ntfs-million} MOUNT=$(mktemp -d)
[ -e "$FOLDER/manifest.tsv" ] || bash "$HERE/../../tests/volumes/make-ntfs-million.sh" "$FOLDER"
dotnet build -v q --nologo -c Release "$HERE/../Turnstone.VolumeBench"
BENCH="$HERE/../Turnstone.VolumeBench/bin/Release/net10.0/Turnstone.VolumeBench"
TIMEFORMAT='%R s wall, %U s user, %S s system'

timed() { # NAME COMMAND...
  local name=$1; shift
  printf '%-34s ' "$name"; { time "$@" > "$MOUNT.out"; } 2>&1 | tail -1; }

# The driver's own processor time counts, too: it runs as a process of its own.
mounted() { # NAME COMMAND...
  ntfs-3g -o ro,no_detach "$FOLDER/image.raw" "$MOUNT" & local driver=$!
  until mountpoint -q "$MOUNT"; do sleep 0.1; done
  timed "$@"; awk -v hz="$(getconf CLK_TCK)" '{printf "%-34s %.2f s user, %.2f s system\n", "    and the driver", $14/hz, $15/hz}' "/proc/$driver/stat"
  umount "$MOUNT"; wait $driver || true; }

cat "$FOLDER/image.raw" > /dev/null    # all from memory: what is measured is the reader, not the disk
for round in 1 2 3; do
  echo "round $round"
  timed 'Turnstone: paths, times, extents' "$BENCH" list "$FOLDER/image.raw"; cat "$MOUNT.out"
  timed 'ntfsls -R -l: names, sizes, times' ntfsls -R -l -f "$FOLDER/image.raw"
  timed 'ntfsls -R: names only' ntfsls -R -f "$FOLDER/image.raw"
  mounted 'find -printf: paths, sizes' find "$MOUNT" -printf '%p %s\n'
  mounted 'find: paths only' find "$MOUNT"
done
rm -rf "$MOUNT.out"; rmdir "$MOUNT"
