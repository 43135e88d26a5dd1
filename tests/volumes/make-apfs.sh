#!/bin/bash
# make-apfs.sh FOLDER NAME
#
# Unpacks one of the APFS volumes kept in prebuilt/ (see apfs.md there) as FOLDER/image.raw with its manifest.
# Debian package: zstd.
set -eu -o pipefail
HERE=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
# The digests of image and manifest together stand here, so that a new one makes a new key for what is kept in the temp folder.
case $2 in
    apfs) want=1b0cfb20baeacf608086ece4068c1b4cb1a01f3872ed50d75a0b9b79235e177f ;;
    apfs-features) want=16274e5c36a81996ce637ceffe3bad271f8f80c39398eee25b11a6464ca92dc4 ;;
    *) echo "no prebuilt APFS volume '$2'" >&2; exit 2 ;;
esac
[ "$(cat "$HERE/prebuilt/$2".{img.zst,tsv} | sha256sum | cut -c1-64)" = "$want" ] || { echo "$2 is not the volume that this script knows" >&2; exit 1; }
zstd --quiet --decompress --sparse "$HERE/prebuilt/$2.img.zst" -o "$1/image.raw"
cp "$HERE/prebuilt/$2.tsv" "$1/manifest.tsv"
