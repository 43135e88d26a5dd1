#!/usr/bin/env bash
# read-loop.sh [MIB [RUNS]]: a healthy loop device read by turnstone (digests and map included) and by dd, in turn, same device, same target disk.
# Needs root, a Release build of src/Turnstone.Cli, and GNU time (Debian: time).
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
mib=${1:-2048} runs=${2:-5}
turnstone=$PWD/src/Turnstone.Cli/bin/Release/net10.0/turnstone
[ -x "$turnstone" ] || { echo "build first: dotnet build -c Release src/Turnstone.Cli" >&2; exit 1; }
work=$(mktemp -d -p "${BENCH_DIR:-/var/tmp}")
cleanup() { [ -n "${loop:-}" ] && losetup -d "$loop"; rm -rf "$work"; }
trap cleanup EXIT
# Bytes that no disk can leave out: zeros would stay holes.
openssl enc -aes-128-ctr -pass pass:turnstone -nosalt < /dev/zero 2>/dev/null | head -c $((mib << 20)) > "$work/patient.raw" || true
loop=$(losetup -f --show -r --direct-io=on "$work/patient.raw")

run() { # NAME COMMAND...
  local name=$1; shift
  rm -rf "$work/target"; mkdir "$work/target"; sync
  /usr/bin/time -o "$work/time" -f '%e %U %S %M' "$@" > /dev/null 2>&1
  echo "$name $(cat "$work/time")" >> "$work/times"
}
for _ in $(seq "$runs"); do
  run dd dd if="$loop" of="$work/target/image.raw" iflag=direct bs=1M
  run turnstone "$turnstone" read "$loop" --into "$work/target/read"
  run dd-durable dd if="$loop" of="$work/target/image.raw" iflag=direct bs=1M conv=fsync
done
printf '%-12s %8s %8s %8s %10s %9s\n' '' 'median s' 'user s' 'system s' 'peak KiB' 'MiB/s'
for name in dd dd-durable turnstone; do
  grep "^$name " "$work/times" | sort -k2 -n | awk -v mib="$mib" '{ row[NR] = $0 } END { split(row[int((NR + 1) / 2)], c, " "); printf "%-12s %8.2f %8.2f %8.2f %10d %9.0f\n", c[1], c[2], c[3], c[4], c[5], mib / c[2] }'
done
