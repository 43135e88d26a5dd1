#!/bin/bash
# ext-million.sh FOLDER: lists one million files of one ext4 image twice over, in turns, and prints the times.
#   here:    benchmarks/Turnstone.VolumeBench, every entry with size, times and extents
#   outside: the kernel's own ext4 driver, mounted anew each time: find -printf of path, size, time and inode (no extents)
# Both start with the image in the page cache and nothing of its file system in any other. Runs as root; makes the image
# with tests/volumes/make-ext-million.sh when FOLDER does not have it.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd); folder=${1:?usage: ext-million.sh FOLDER [ROUNDS]}; rounds=${2:-3}
mkdir -p "$folder"; mount=$(mktemp -d); device=
finish() { mountpoint -q "$mount" && umount "$mount"; [ -z "$device" ] || losetup -d "$device"; rmdir "$mount"; }
trap finish EXIT
[ -f "$folder/image.raw" ] || bash "$here/../../tests/volumes/make-ext-million.sh" "$folder"
dotnet build -c Release -v quiet --nologo "$here/../Turnstone.VolumeBench"
bench=$here/../Turnstone.VolumeBench/bin/Release/net10.0/Turnstone.VolumeBench
cat "$folder/image.raw" > /dev/null
TIMEFORMAT='%R s on the clock, %U s user, %S s system'
for round in $(seq "$rounds"); do
  echo "round $round, load $(cut -d' ' -f1 /proc/loadavg)"
  echo -n '  here:    '; { time "$bench" list "$folder/image.raw" "$folder/here.txt"; } 2>&1 | paste -sd'|'
  device=$(losetup -f -r --show "$folder/image.raw"); mount -t ext4 -o ro,noload,noatime "$device" "$mount"
  echo -n '  outside: '; { time find "$mount" -printf '%p\t%s\t%T@\t%i\n' > "$folder/outside.txt"; } 2>&1 | paste -sd'|'
  umount "$mount"; losetup -d "$device"; device=
done
wc -l "$folder/here.txt" "$folder/outside.txt"
