#!/bin/bash
# make-apfs.sh FOLDER NAME
#
# Unpacks one of the APFS volumes kept in prebuilt/ (see apfs.md there) as FOLDER/image.raw with its manifest.
# Debian package: zstd.
set -eu -o pipefail
HERE=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
# The digests stand here so that a new image makes a new key for what is kept in the temp folder.
case $2 in
    apfs) want=aca78448c575e43baf3afe5806d257a9a7b78c8a961f0014a4c2071c60144356 ;;
    *) echo "no prebuilt APFS volume '$2'" >&2; exit 2 ;;
esac
echo "$want  $HERE/prebuilt/$2.img.zst" | sha256sum --check --quiet
zstd --quiet --decompress --sparse "$HERE/prebuilt/$2.img.zst" -o "$1/image.raw"
cp "$HERE/prebuilt/$2.tsv" "$1/manifest.tsv"
