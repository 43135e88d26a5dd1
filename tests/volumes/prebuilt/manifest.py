#!/usr/bin/env python3
"""manifest.py IMAGE STAT FILES LINKS SOURCE > MANIFEST

Writes the manifest of an HFS+ image from what outside readers said of it: STAT, FILES and LINKS are stat, sha256sum and readlink
as the Linux kernel's driver showed them; places of live files come from grub-fstest (another driver by other authors) and are
proven by hashing the image's bytes. SOURCE holds the files as they were before: deleted ones are looked for in the image.
Paths are decomposed, as on the disk; files under SOURCE/../source are those whose content is stored compressed.
"""
import hashlib, os, re, subprocess, sys, unicodedata

image_path, stat, files, links, source = sys.argv[1:]
image = open(image_path, 'rb').read()
sha = lambda data: hashlib.sha256(data).hexdigest()
plain = lambda s: unicodedata.normalize('NFD', s.removeprefix('./'))
digests = {plain(l[66:].rstrip('\n')): l[:64] for l in open(files)}
targets = dict(plain(l.rstrip('\n')).split('\t') for l in open(links))
packed = os.path.join(source, '..', 'source')

def blocks(path):
    # the driver shows composed names, the disk has decomposed ones and the boot loader wants these
    out = subprocess.run(['grub-fstest', image_path, 'blocklist', '(loop0)/' + path], capture_output=True, text=True).stdout.strip()
    for part in filter(None, out.split(',')):
        m = re.fullmatch(r'(\d+)\+(\d+)', part)
        yield (int(m[1]) * 512, int(m[2]) * 512, None) if m else \
            (lambda m: (int(m[1]) * 512 + int(m[2]), int(m[3]) - int(m[2]), None))(re.fullmatch(r'(\d+)\[(\d+)-(\d+)\]', part))

def extents(path, size, digest):
    at, found, data = 0, [], b''
    for start, length, _ in blocks(path):
        found.append((at, start, length)); data += image[start:start + length]; at += length
    if size == len(data) and sha(data) == digest: return found
    # the boot loader's reader does not find every name and follows no hard links; a file in one run can be found by its bytes
    p = os.path.join(source, re.sub('.*(second|third)', 'linked/first', path))
    data = open(p, 'rb').read() if os.path.exists(p) else b''
    at = image.find(data)
    assert sha(data) == digest and at >= 0, path
    return [(0, at, size)]

def row(path, kind, size, digest, mtime, deleted, proof, places):
    print(0, path, kind, size, digest, mtime, int(deleted), proof, ','.join(f'{a}:{b}:{c}' for a, b, c in places), sep='\t')

print('volume', 'path', 'type', 'size', 'sha256', 'mtime', 'deleted', 'proof', 'extents', sep='\t')
live = set()
for line in sorted(open(stat)):
    kind, mtime, number, size, name = line.rstrip('\n').split('\t')
    path = plain(name)
    live.add(path)
    if path in ('.', '') or 'HFS+ Private' in path: continue
    if kind == 'directory': row(path, 'dir', 0, '', mtime, False, 'unproven', [])
    elif kind == 'symbolic link': row(path, 'link', int(size), sha(targets[path].encode()), mtime, False, 'unproven', [])
    elif kind.startswith('regular'):
        p = os.path.join(packed, path)
        if os.path.exists(p):
            data = open(p, 'rb').read()
            row(path, 'file', len(data), sha(data), mtime, False, 'unproven', [])
        elif path.startswith('forks/'):       # finish.py made the data fork a resource fork
            row(path, 'file', 0, sha(b''), mtime, False, 'bytes', [])
            row(path + '/rsrc', 'stream', int(size), digests[path], mtime, False, 'bytes', extents(path, int(size), digests[path]))
        elif not path.startswith('packed/unknown'):
            row(path, 'file', int(size), digests[path], mtime, False, 'bytes', extents(path, int(size), digests[path]))
for folder, _, names in os.walk(source):
    for name in names:
        path = plain(os.path.relpath(os.path.join(folder, name), source))
        if path in live or os.path.islink(os.path.join(folder, name)): continue
        data = open(os.path.join(folder, name), 'rb').read()
        at = image.find(data)
        row(path, 'file', len(data), sha(data), '', True, 'bytes' if at >= 0 else 'gone', [(0, at, len(data))] if at >= 0 else [])
