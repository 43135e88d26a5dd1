#!/usr/bin/env python3
"""empty-hfsplus.py FILE MBYTES LABEL [BLOCK_BYTES NODE_BYTES]

Writes an empty HFS+ volume that the Linux kernel's hfsplus driver mounts and fills. Layout after Apple, Technical
Note TN1150, "HFS Plus Volume Format" (2004): Volume Header, Allocation File, B-Trees, Catalog File, Extents
Overflow File, Attributes File (from memory; proved by the kernel's driver).
"""
import struct, sys

path, mbytes, label = sys.argv[1], int(sys.argv[2]), sys.argv[3]
BLOCK, NODE = (int(a) for a in (sys.argv[4:6] or (4096, 4096)))
TREE_BYTES, ATTRIBUTES_BYTES, DATE = 32 * 4096, 512 * 1024, 3855168000   # seconds since 1904, a day in 2026
tree_blocks, attributes_blocks = TREE_BYTES // BLOCK, ATTRIBUTES_BYTES // BLOCK
total = mbytes * 1024 * 1024 // BLOCK
alloc_blocks = (total + BLOCK * 8 - 1) // (BLOCK * 8)
alloc_at = (1536 + BLOCK - 1) // BLOCK
ext_at = alloc_at + alloc_blocks
cat_at = ext_at + tree_blocks
attr_at = cat_at + tree_blocks
used = attr_at + attributes_blocks
tail = (1024 + BLOCK - 1) // BLOCK

def fork(first, blocks):
    return struct.pack('>QII', blocks * BLOCK, blocks * BLOCK, blocks) + struct.pack('>II', first, blocks) + bytes(56)

def node(kind, height, records):
    n, at, offsets = bytearray(NODE), 14, []
    struct.pack_into('>IIbBHH', n, 0, 0, 0, kind, height, len(records), 0)
    for r in records:
        offsets.append(at); n[at:at + len(r)] = r; at += len(r)
    for i, o in enumerate(offsets + [at]):
        struct.pack_into('>H', n, NODE - 2 * (i + 1), o)
    return n

def tree(size, max_key, attributes, leaf_records):
    nodes = size // NODE
    leaves = 1 if leaf_records else 0
    header = struct.pack('>HIIIIHHIIHIBBI', leaves, leaves, len(leaf_records), leaves, leaves, NODE, max_key,
                         nodes, nodes - 1 - leaves, 0, size, 0, 0, attributes) + bytes(64)
    bitmap = bytearray(NODE - 8 - 248); bitmap[0] = 0xC0 if leaves else 0x80
    out = node(1, 0, [header, bytes(128), bytes(bitmap)])
    if leaves: out += node(-1, 1, leaf_records)
    return out + bytes(size - len(out))

def text(s):
    u = s.encode('utf-16-be'); return struct.pack('>H', len(u) // 2) + u
def key(parent, name):
    k = struct.pack('>I', parent) + text(name); return struct.pack('>H', len(k)) + k

root = struct.pack('>HHII5I', 1, 0, 0, 2, DATE, DATE, DATE, DATE, 0) + struct.pack('>IIBBHI', 0, 0, 0, 0, 0o40755, 0) + bytes(40)
thread = struct.pack('>HHI', 3, 0, 1) + text(label)
catalog = tree(TREE_BYTES, 516, 6, [key(1, label) + root, key(2, '') + thread])
extents, attributes = tree(TREE_BYTES, 10, 2, []), tree(ATTRIBUTES_BYTES, 266, 6, [])

volume = bytearray(total * BLOCK)
bits = bytearray(alloc_blocks * BLOCK)
for b in list(range(used)) + list(range(total - tail, total)): bits[b // 8] |= 0x80 >> b % 8
header = struct.pack('>2sHI4sI', b'H+', 4, 0x100, b'10.0', 0)
header += struct.pack('>4I', DATE, DATE, 0, DATE) + struct.pack('>II', 0, 0)
header += struct.pack('>IIIIIIIIQ', BLOCK, total, total - used - tail, used, BLOCK, BLOCK, 16, 0, 1) + bytes(24) + bytes.fromhex('5475726E73746F6E')
header += fork(alloc_at, alloc_blocks) + fork(ext_at, tree_blocks) + fork(cat_at, tree_blocks) + fork(attr_at, attributes_blocks) + bytes(80)
assert len(header) == 512 and len(root) == 88
volume[1024:1536] = header
volume[-1024:-512] = header
for at, data in ((alloc_at, bits), (ext_at, extents), (cat_at, catalog), (attr_at, attributes)): volume[at * BLOCK:at * BLOCK + len(data)] = data
open(path, 'wb').write(volume)
