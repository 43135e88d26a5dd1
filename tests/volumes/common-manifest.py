#!/usr/bin/env python3
"""The manifest of a fixture volume: what an outside driver or tool says of each file, checked against the image.

  common-manifest.py scan ROOT ROWS.json [EXTENTS.json]
      Lists ROOT (a mount, or a copy made by a tool): path, type, size, sha256, mtime. EXTENTS.json, made by the
      script of the file system, maps a path to [[fileOffset, imageOffset or null, length], ...]; a path that it
      lacks has no plain extents.
  common-manifest.py extents-fiemap ROOT BASE EXTENTS.json     by filefrag; BASE is where the volume starts in the image
  common-manifest.py extents-grub ROOT DEVICE BASE EXTENTS.json    by grub-fstest on DEVICE
  common-manifest.py write IMAGE BASE AFTER.json [BEFORE.json] [--source FOLDER] [--append] > manifest.tsv
      One line a file. Files of BEFORE that AFTER lacks are deleted ones. With --source every file of the seeded
      tree must be there byte for byte. A live file whose extents do not give its digest stops it.

A script that has streams or links in other forms may add rows to the json between the two steps.
Row: {"path","type","size","sha256","mtime","extents"}.
"""
import hashlib
import json
import os
import re
import subprocess
import sys

COLUMNS = 'volumeOffset\tpath\ttype\tsize\tsha256\tmtime\tdeleted\tproof\textents'


def digest(data):
    return hashlib.sha256(data).hexdigest()


def output(*command):
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout.decode(errors='replace')


def merge(extents):
    out = []
    for at, place, length in extents:
        last = out[-1] if out else None
        if last and last[0] + last[2] == at and (last[1] is None) == (place is None) and (place is None or last[1] + last[2] == place):
            last[2] += length
        else:
            out.append([at, place, length])
    return out


def walk(root):
    paths = []
    for folder, folders, files in os.walk(root):
        paths += [os.path.relpath(os.path.join(folder, name), root) for name in folders + files]
    return sorted(p for p in paths if not p.startswith(('lost+found', '$', '.gap')))


def row(root, path, extents):
    full = os.path.join(root, path)
    stat = os.lstat(full)
    kind = 'link' if os.path.islink(full) else 'dir' if os.path.isdir(full) else 'file' if os.path.isfile(full) else 'other'
    data = os.readlink(os.fsencode(full)) if kind == 'link' else open(full, 'rb').read() if kind == 'file' else b''
    return {'path': path, 'type': kind, 'size': len(data), 'sha256': digest(data) if kind in ('file', 'link') else '',
            'mtime': stat.st_mtime_ns // 10**9, 'extents': extents.get(path) if kind == 'file' else None}


def scan(root, rows, extents=None):
    known = json.load(open(extents)) if extents else {}
    json.dump([row(root, path, known) for path in walk(root)], open(rows, 'w'))


def fiemap(full, base, size):
    text = output('filefrag', '-v', full)
    block = re.search(r'blocks? of (\d+) bytes', text)
    if not block:
        return None
    unit, out, at = int(block[1]), [], 0
    for line in text.splitlines():
        m = re.match(r'\s*\d+:\s*(\d+)\.\.\s*(\d+):\s*(\d+)\.\.\s*(\d+):\s*(\d+):(.*)', line)
        if not m:
            continue
        if re.search('inline|tail_packed|delalloc|unknown', m[6]):
            return None
        first, length = int(m[1]) * unit, int(m[5]) * unit
        if first > at:
            out.append([at, None, first - at])
        out.append([first, None if 'unwritten' in m[6] else base + int(m[3]) * unit, length])
        at = first + length
    if at < size:
        out.append([at, None, size - at])
    return merge(out)


def grub(path, device, base):
    out, at = [], 0
    for item in output('grub-fstest', device, 'blocklist', '(loop0)/' + path).strip().split(','):
        m = re.fullmatch(r'(\d+)(?:\+(\d+))?(?:\[(\d+)-(\d+)\])?', item)
        if not m:
            return None
        first, length = int(m[1]) * 512, int(m[2] or 0) * 512
        if m[3] is not None and not m[2]:
            first, length = first + int(m[3]), int(m[4]) - int(m[3])
        out.append([at, base + first, length])
        at += length
    return merge(out)


def extents_of(root, place):
    found = {}
    for path in walk(root):
        full = os.path.join(root, path)
        if os.path.isfile(full) and not os.path.islink(full):
            size = os.path.getsize(full)
            found[path] = [] if size == 0 else place(path, full, size)
    return {path: extents for path, extents in found.items() if extents is not None}


def proof(image, line, deleted):
    if line['extents'] is None:
        return 'unproven'
    hash_, left = hashlib.sha256(), line['size']
    for _, place, length in line['extents']:
        length = min(length, left)
        left -= length
        if place is None:
            hash_.update(bytes(length))
        else:
            image.seek(place)
            hash_.update(image.read(length))
    if left == 0 and hash_.hexdigest() == line['sha256']:
        return 'bytes'
    return 'gone' if deleted else 'MISMATCH'


def write(image, base, after, before, source, header):
    live = json.load(open(after))
    paths = {line['path'] for line in live}
    dead = [line for line in json.load(open(before)) if line['path'] not in paths] if before else []
    faults = missing_from(live, source) if source else []
    if header:
        print(COLUMNS)
    with open(image, 'rb') as file:
        for deleted, line in [(0, line) for line in live] + [(1, line) for line in dead]:
            verdict = proof(file, line, deleted) if line['type'] in ('file', 'stream') else 'unproven'
            if verdict == 'MISMATCH':
                faults.append('extents do not give the content: ' + line['path'])
            extents = ','.join(f'{a}:{"hole" if b is None else b}:{n}' for a, b, n in line['extents'] or [])
            print('\t'.join(map(str, (base, line['path'], line['type'], line['size'], line['sha256'], line['mtime'], deleted, verdict, extents))))
    for fault in faults:
        print(fault, file=sys.stderr)
    sys.exit(4 if faults else 0)


def missing_from(live, source):
    got = {line['path']: line['sha256'] for line in live}
    doomed = set(open(os.path.join(source, 'doomed.lst')).read().splitlines())
    faults = []
    for root, prefix in (('tree', ''), ('woven', 'pieces/'), ('late', '')):
        folder = os.path.join(source, root)
        for path in walk(folder):
            full = os.path.join(folder, path)
            if not os.path.isfile(full):
                continue
            gone = root == 'tree' and path in doomed
            want = None if gone else digest(open(full, 'rb').read())
            if got.get(prefix + path) != want:
                faults.append(('still there: ' if gone else 'wrong or absent: ') + path)
    return faults


def main(verb, *a):
    a = list(a)
    if verb == 'scan':
        scan(*a)
    elif verb == 'extents-fiemap':
        json.dump(extents_of(a[0], lambda path, full, size: fiemap(full, int(a[1]), size)), open(a[2], 'w'))
    elif verb == 'extents-grub':
        json.dump(extents_of(a[0], lambda path, full, size: grub(path, a[1], int(a[2]))), open(a[3], 'w'))
    elif verb == 'write':
        header = '--append' not in a
        source = a[a.index('--source') + 1] if '--source' in a else None
        plain = [x for i, x in enumerate(a) if not x.startswith('--') and (i == 0 or a[i - 1] != '--source')]
        write(plain[0], int(plain[1]), plain[2], plain[3] if len(plain) > 3 else None, source, header)
    else:
        sys.exit('unknown verb ' + verb)


if __name__ == '__main__':
    main(*sys.argv[1:])
