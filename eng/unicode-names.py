#!/usr/bin/env python3
"""Makes src/Turnstone.Handover/Names/unicode-names.txt from the Unicode Character Database.

Needs the Debian package unicode-data. Lines, code points in hex:
  V version of the database
  C class point...      canonical combining class and the characters that have it
  D point point...      full canonical decomposition (Hangul is arithmetic and left out)
  F point point...      full case folding (status C and F)
"""
import pathlib
import re

SOURCE = pathlib.Path("/usr/share/unicode")
TARGET = pathlib.Path(__file__).resolve().parent.parent / "src/Turnstone.Handover/Names/unicode-names.txt"

canonical, classes = {}, {}
for line in (SOURCE / "UnicodeData.txt").read_text("ascii").splitlines():
    field = line.split(";")
    point = int(field[0], 16)
    if field[5] and not field[5].startswith("<"):
        canonical[point] = [int(p, 16) for p in field[5].split()]
    if field[3] != "0":
        classes.setdefault(int(field[3]), []).append(point)


def full(point):
    return [q for p in canonical[point] for q in full(p)] if point in canonical else [point]


folding_text = (SOURCE / "CaseFolding.txt").read_text("utf-8")
version = re.search(r"CaseFolding-([0-9.]+)\.txt", folding_text).group(1)
lines = [f"V {version}"]
lines += [f"C {c} " + " ".join(f"{p:X}" for p in points) for c, points in sorted(classes.items())]
lines += [f"D {p:X} " + " ".join(f"{q:X}" for q in full(p)) for p in sorted(canonical)]
for line in folding_text.splitlines():
    field = [part.strip() for part in line.split("#")[0].split(";")]
    if len(field) >= 3 and field[1] in ("C", "F"):
        lines.append(f"F {int(field[0], 16):X} " + " ".join(f"{int(p, 16):X}" for p in field[2].split()))
TARGET.write_text("\n".join(lines) + "\n", "ascii")
