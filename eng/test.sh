#!/usr/bin/env bash
# Installs what the tests need from Debian (as root), builds, runs every test.
# Last line: 'N passed, N failed, N skipped'. Exit code: that of the test run.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
export DOTNET_NOLOGO=1 DOTNET_CLI_TELEMETRY_OPTOUT=1 DOTNET_CLI_UI_LANGUAGE=en

[ "$(id -u)" = 0 ] || { echo 'eng/test.sh: run as root: the tests use loop devices and mounts, and Debian packages are installed' >&2; exit 1; }
eng/packages.sh

dotnet build -c Release
log=$(mktemp)
trap 'rm -f "$log"' EXIT
code=0
# One program after another: they share two cores, loop devices and FUSE.
dotnet test -c Release --no-build --no-progress --no-ansi --max-parallel-test-modules 1 2>&1 | tee "$log" || code=$?
awk -v code="$code" '
  { sub(/^[ \t]+/, "") }
  $1 == "total:" { total = $2 } $1 == "failed:" { failed = $2 } $1 == "succeeded:" { passed = $2 } $1 == "skipped:" { skipped = $2 }
  END {
    if (total == "") { print "no test was counted, the run ended with " code; exit 1 }
    if (code != 0) print "the test run ended with " code
    printf "%d passed, %d failed, %d skipped\n", passed, failed, skipped
  }' "$log"
exit "$code"
