# make-tree.py PAYLOAD: the seeded tree, the attributes to set (attributes.sh) and, beside it, the packed files unpacked.
import os, random, sys, struct, zlib, binascii
r, top = random.Random(20261125), sys.argv[1]
def put(path, data):
    p = f'{top}/tree/{path}'; os.makedirs(os.path.dirname(p), exist_ok=True); open(p, 'wb').write(data)
put('kept/same.bin', r.randbytes(30_000))
put('kept/will be renamed.txt', b'the same bytes under another name\n' * 50)
for i in range(4): put(f'then/empty {i}', b'')
for i in range(1500): put(f'crowd/{i % 7}/entry number {i:05} with a name of some length.txt', f'{i}\n'.encode() * (i % 5))
put('links/first.bin', r.randbytes(12_345))
put('attributes/carrier.txt', b'carries attributes\n')
text = b''.join(b'line %06d of a text that packs well\n' % i for i in range(7000))
head = lambda kind, size: b'fpmc' + struct.pack('<IQ', kind, size)
mixed = text[:131072] + r.randbytes(20_000)
plan = {'packed/small.txt': (head(3, 3000) + zlib.compress(text[:3000], 9), None, text[:3000]),
        'then/deeper/packed and gone.txt': (head(3, 2000) + zlib.compress(text[40_000:42_000], 9), None, text[40_000:42_000]),
        'packed/plain inside.bin': (head(3, 600) + b'\xff' + mixed[140_000:140_600], None, mixed[140_000:140_600])}
with open(f'{top}/attributes.sh', 'w') as f:
    def attr(path, name, value):
        n = f'a{attr.n}'; attr.n += 1; open(f'{top}/{n}', 'wb').write(value)
        f.write(f'setfattr -n "osx.{name}" -v 0s$(base64 -w0 {n}) "/mnt/{path}" || exit 1\n')
    attr.n = 0
    for path, (h, k, data) in plan.items():
        put(path, b'')
        attr(path, 'com.apple.decmpfs', h)
        if k: attr(path, 'com.apple.ResourceFork', k)
        os.makedirs(f'{top}/../unpacked', exist_ok=True); open(f'{top}/../unpacked/{os.path.basename(path)}', 'wb').write(data)
    attr('attributes/carrier.txt', 'org.example.small', b'a short note')
    attr('attributes', 'org.example.of a folder', b'on a folder')
