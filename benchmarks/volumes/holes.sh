#!/usr/bin/env bash
# holes.sh: one table over all file systems: what comes out of volumes made by outside tools through random holes. Needs root (the fixtures).
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
dotnet build -c Release -v quiet --nologo benchmarks/Turnstone.VolumeBench >&2
bench=benchmarks/Turnstone.VolumeBench/bin/Release/net10.0/Turnstone.VolumeBench
echo '| file system | holes | files | held | whole | elsewhere | wrong | whole of held | whole or elsewhere of held | precision |'
echo '| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |'
"$bench" holes make-exfat.sh
"$bench" holes make-fat.sh 32
"$bench" holes make-ntfs.sh
"$bench" holes make-ext.sh ext4
"$bench" holes make-hfsplus.sh hfsplus
"$bench" holes make-apfs.sh apfs
