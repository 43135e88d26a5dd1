#!/usr/bin/env python3
"""common-mshowfat.py IMAGE BASE ROOT EXTENTS.json: where mtools says that each file of ROOT lies in the FAT volume at BASE of IMAGE."""
import json
import os
import re
import subprocess
import sys


def output(*command):
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout.decode(errors='replace')


def number(text, pattern):
    found = re.search(pattern, text)
    return int(found[1]) if found else 0


def main(image, base, root, target):
    base, image = int(base), f'{image}@@{base}'
    facts = output('minfo', '-i', image, '::')
    sector, fats = number(facts, r'sector size: (\d+)'), number(facts, r'fats: (\d+)')
    cluster = sector * number(facts, r'cluster size: (\d+)')
    fat = number(facts, r'sectors per fat: (\d+)') or number(facts, r'[Bb]ig fatlen=(\d+)')
    folder = (number(facts, r'max available root directory slots: (\d+)') * 32 + sector - 1) // sector
    first = (number(facts, r'reserved \(boot\) sectors: (\d+)') + fats * fat + folder) * sector
    paths = [os.path.relpath(os.path.join(d, f), root) for d, _, files in os.walk(root) for f in files]
    found = {path: [] for path in paths if os.path.getsize(os.path.join(root, path)) == 0}
    for i in range(0, len(paths), 100):
        names = ['::/' + re.sub(r'([\[*?\\])', r'\\\1', path) for path in paths[i:i + 100]]
        for line in output('mshowfat', '-i', image, *names).splitlines():
            m = re.match(r'::/(.*?) ((?:<[^>]*> ?)+)$', line.rstrip())
            if not m:
                continue
            extents, at = [], 0
            for a, b in re.findall(r'<(\d+)(?:-(\d+))?>', m[2]):
                length = (int(b or a) - int(a) + 1) * cluster
                extents.append([at, base + first + (int(a) - 2) * cluster, length])
                at += length
            found[m[1]] = extents
    json.dump(found, open(target, 'w'))


if __name__ == '__main__':
    main(*sys.argv[1:])
