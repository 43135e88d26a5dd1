#!/usr/bin/env python3
"""make-tree.py FOLDER: the files of hfslinks.img, the same each time, and the commands that add the attributes of compressed ones."""
import os, random, struct, sys, unicodedata, zlib

os.chdir(sys.argv[1])
r = random.Random(20261125)

def put(path, data):
    path = 'tree/' + path
    os.makedirs(os.path.dirname(path), exist_ok=True)
    with open(path, 'wb') as f: f.write(data)

def text(i): return (f'line {i} ' * r.randint(1, 900)).encode() + r.randbytes(r.randint(0, 1200))

def in_fork(data):
    """A resource fork with the file's blocks of 64 KiB, each zlib or plain behind one byte FF."""
    blocks = [zlib.compress(data[i:i + 65536], 9) if i % 131072 == 0 else b'\xff' + data[i:i + 65536] for i in range(0, len(data), 65536)]
    at, table = 4 + 8 * len(blocks), b''
    for b in blocks: table += struct.pack('<II', at, len(b)); at += len(b)
    body = struct.pack('<I', len(blocks)) + table + b''.join(blocks)
    return struct.pack('>IIII', 256, 260 + len(body), 4 + len(body), 50) + bytes(240) + struct.pack('>I', len(body)) + body + bytes(50)

attributes = open('attributes.sh', 'w')
def attribute(path, kind, size, data=b''):
    value = b'fpmc' + struct.pack('<IQ', kind, size) + data
    attributes.write(f'setfattr -n osx.com.apple.decmpfs -v 0x{value.hex()} "/mnt/{path}" || exit 1\n')

for i in range(700): put(f'folder {i % 23:02}/note {i:04}.txt', f'note {i} of {r.random()}\n'.encode() * r.randint(1, 60))
for i in range(40): put(f'linked/first {i:02}.bin', r.randbytes(r.randint(1, 30000)))
put('names/one:two.txt', b'a name with the sign that the desktop shows as a slash\n')
put('names/' + unicodedata.normalize('NFC', 'Käsekuchen ﬁne Ǻ 한국.txt'), r.randbytes(777))
put('names/' + 'w' * 255, r.randbytes(1000))
put('names/.hidden', b'dot\n')
for i in range(30): put(f'gone/away {i:02}.bin', r.randbytes(r.randint(500, 40000)))
for i in range(4): put(f'pieces/{"abcd"[i]}.bin', r.randbytes(61 * 2048 - i))
for i in range(120):                       # finish.py makes them compressed files: nothing in the data fork
    data = text(i)[:3000 if i % 10 == 9 else None]
    put(f'packed/inline {i:03}.dat', b'')
    attribute(f'packed/inline {i:03}.dat', 3, len(data), b'\xff' + data if i % 10 == 9 else zlib.compress(data, 9))
    os.makedirs('source/packed', exist_ok=True)
    with open(f'source/packed/inline {i:03}.dat', 'wb') as f: f.write(data)
for i in range(24):                        # finish.py moves what the driver wrote to the resource fork
    data = text(i) * r.randint(1, 30)
    put(f'packed/forked {i:03}.dat', in_fork(data))
    attribute(f'packed/forked {i:03}.dat', 4, len(data))
    with open(f'source/packed/forked {i:03}.dat', 'wb') as f: f.write(data)
for i in range(6):
    put(f'packed/unknown {i}.dat', b'')
    attribute(f'packed/unknown {i}.dat', 7, 5000, r.randbytes(900))
for i in range(12): put(f'forks/old {i:02}', r.randbytes(r.randint(100, 20000)))
