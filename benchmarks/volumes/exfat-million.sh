#!/usr/bin/env bash
# exfat-million.sh IMAGE: a full listing of an exFAT volume by us and by 'find' over exfat-fuse, in turn, three times each, caches warm.
# Needs root and exfat-fuse. The image comes from tests/volumes/make-million.sh.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
image=${1:?IMAGE, made by tests/volumes/make-million.sh}
bench=benchmarks/Turnstone.VolumeBench/bin/Release/net10.0/Turnstone.VolumeBench
[ -x "$bench" ] || { echo "build first: dotnet build -c Release benchmarks/Turnstone.VolumeBench" >&2; exit 1; }
mount=$(mktemp -d); loop=$(losetup -f --show -r "$image")
cleanup() { umount "$mount" 2>/dev/null || true; losetup -d "$loop"; rmdir "$mount"; }
trap cleanup EXIT
mount.exfat-fuse -o ro "$loop" "$mount" > /dev/null
cat "$image" > /dev/null
for _ in 1 2 3; do
  echo "turnstone: $("$bench" list "$image")"
  start=${EPOCHREALTIME/./}
  entries=$(find "$mount" -mindepth 1 -printf '%p\t%s\t%T@\n' | wc -l)
  echo "find:      $entries entries; all after $(((${EPOCHREALTIME/./} - start) / 1000)) ms"
done
