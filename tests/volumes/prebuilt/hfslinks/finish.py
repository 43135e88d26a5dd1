#!/usr/bin/env python3
"""finish.py IMAGE: what the kernel's driver cannot write is changed in the catalog records that it wrote.

'packed/*' get the flag of compressed files; 'packed/forked *' and 'forks/*' have their data fork made their resource fork.
Record layout: Apple, Technical Note TN1150, "Catalog File Data" (from memory).
"""
import re, sys

image = bytearray(open(sys.argv[1], 'rb').read())
def records(name):
    """Every file record of that name, also in nodes and slack that are no longer used: they are all states of the same file."""
    want, at = name.encode('utf-16-be'), -1
    while (at := image.find(want, at + 1)) >= 0:
        data = at + len(want)
        if image[data:data + 2] == b'\0\2' and int.from_bytes(image[at - 2:at], 'big') == len(name): yield data
names = [f'inline {i:03}.dat' for i in range(120)] + [f'forked {i:03}.dat' for i in range(24)] + [f'unknown {i}.dat' for i in range(6)]
for name in names + [f'old {i:02}' for i in range(12)]:
    for r in records(name):
        if not name.startswith('old'): image[r + 41] |= 0x20
        if name.startswith(('old', 'forked')): image[r + 88:r + 168], image[r + 168:r + 248] = image[r + 168:r + 248], image[r + 88:r + 168]
open(sys.argv[1], 'wb').write(image)
