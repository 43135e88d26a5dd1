#!/usr/bin/env bash
# Installs the Debian packages that the tests use: the lists in eng/packages.d, one name a line, '#' begins a comment.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")"
mapfile -t wanted < <(sed 's/#.*//' packages.d/*.txt | tr -s ' \t' '\n' | grep . | sort -u)
missing=()
for package in "${wanted[@]}"; do
  dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing+=("$package")
done
[ ${#missing[@]} -eq 0 ] && exit 0
echo "installing: ${missing[*]}"
export DEBIAN_FRONTEND=noninteractive
apt-get update -qq
apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
