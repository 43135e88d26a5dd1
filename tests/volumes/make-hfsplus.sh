#!/bin/bash
# make-hfsplus.sh FOLDER hfsplus|hfsx|hfslinks
#
# Unpacks a volume that the Linux kernel's hfsplus driver filled, with its manifest; prebuilt/README.md says how they were made.
set -eu -o pipefail
[ $# = 2 ] || { sed -n '2p' "$0" >&2; exit 2; }
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
command -v zstd > /dev/null || { echo "make-hfsplus.sh: zstd is missing (Debian: zstd)" >&2; exit 1; }
zstd -q -d --sparse "$here/prebuilt/$2.img.zst" -o "$1/image.raw"
cp "$here/prebuilt/$2.tsv" "$1/manifest.tsv"
