#!/usr/bin/env python3
"""The seeded tree of files that every fixture volume carries, and how it is put on a mounted volume.

  common-tree.py gen SEED FOLDER [--small N] [--big N] [--big-max BYTES] [--woven N] [--chunks N] [--chunk BYTES]
                                 [--deep N] [--doomed N] [--gaps N] [--bmp]
  common-tree.py fill FOLDER MOUNT    copies the tree, then writes the woven files in turns into gaps, so they fragment
  common-tree.py drop FOLDER MOUNT    deletes the doomed files, then writes the late ones

FOLDER gets tree/ (first), woven/ (to be fragmented, lands in pieces/), late/ (after the deletions), doomed.lst
(one path a line) and options.json. One seed and one set of options give the same bytes, names and times again.
"""
import argparse
import json
import os
import random
import shutil

EDGES = (0, 1, 2, 511, 512, 513, 4095, 4096, 4097, 65535, 65536)
TINY = (16, 100, 300, 500, 600, 650, 700, 800, 1000)
NAMES = ['Grüße aus Köln.txt', 'naïve café.md', 'данные за май.csv', '写真アルバム.bin', 'ελληνικά.txt', 'עברית.txt',
         'ﬁ ligature ½.txt', 'two  blanks . and dots.tar.gz', 'UPPER.TXT', 'lower.txt', 'L' * 100 + ' long ' + 'x' * 80 + '.dat']
NAMES_PAST_BMP = ['smile 😀 face.txt', '𝔊othic.bin']
WORDS = [b'ledger', b'photo', b'letter', b'invoice', b'minutes']


class Tree:
    """Writes files below a folder from one generator; text bodies name their file, so no two files are alike."""

    def __init__(self, seed, folder):
        self.random, self.folder = random.Random(seed), folder

    def put(self, root, path, size, text=False):
        full = os.path.join(self.folder, root, path)
        os.makedirs(os.path.dirname(full), exist_ok=True)
        with open(full, 'wb') as file:
            file.write(self.body(size, text))
        when = 1700000000 + 2 * self.random.randrange(30000000)
        os.utime(full, (when, when))

    def body(self, size, text):
        if not text:
            return self.random.randbytes(size)
        lines, key = bytearray(), self.random.getrandbits(40)
        while len(lines) < size:
            lines += b'%010x line %08d %s\n' % (key, len(lines), self.random.choice(WORDS))
        return bytes(lines[:size])


def generate(a):
    shutil.rmtree(a.folder, ignore_errors=True)
    for root in ('tree', 'woven', 'late'):
        os.makedirs(os.path.join(a.folder, root))
    tree = Tree(a.seed, a.folder)
    first_files(tree, a)
    for i in range(a.woven):
        tree.put('woven', f'woven {i}.bin', a.chunks * a.chunk - tree.random.randrange(1, a.chunk))
    for i in range(4):
        tree.put('late', f'bin/new {i:02d}.dat', tree.random.choice([900, 9000, 70000]))
    many = [f'many/group-{i % 3}/{name}' for i, name in enumerate(many_names(a))]
    doomed = [f'bin/old {i:02d}.dat' for i in range(a.doomed)] + tree.random.sample(many, len(many) // 10)
    with open(os.path.join(a.folder, 'doomed.lst'), 'w') as file:
        file.writelines(path + '\n' for path in sorted(doomed))
    with open(os.path.join(a.folder, 'options.json'), 'w') as file:
        json.dump(vars(a), file)


def many_names(a):
    return [f'item {i:05d}.{("txt", "csv", "log")[i * 7 % 3]}' for i in range(a.small)]


def first_files(tree, a):
    r = tree.random
    for n in EDGES:
        tree.put('tree', f'edges/size-{n}.bin', n)
    for n in TINY:
        tree.put('tree', f'tiny/bytes-{n}.dat', n)
    for i, name in enumerate(many_names(a)):
        tree.put('tree', f'many/group-{i % 3}/{name}', r.randrange(1, 3000), text=True)
    path = 'deep'
    for i in range(a.deep):
        path += f'/level {i}'
        if i % 3 == 2:
            tree.put('tree', f'{path}/note {i}.txt', r.randrange(20, 2000), text=True)
    tree.put('tree', path + '/bottom.bin', 5000)
    for name in NAMES + ([] if a.bmp else NAMES_PAST_BMP):
        tree.put('tree', 'names/' + name, r.randrange(100, 9000))
    for i in range(a.big):
        tree.put('tree', f'media/clip {i}.mov', r.randrange(a.big_max // 3, a.big_max))
    for i in range(a.doomed):
        tree.put('tree', f'bin/old {i:02d}.dat', r.choice([700, 5000, 40000, a.big_max // 6]), text=i % 3 == 0)
    os.makedirs(os.path.join(tree.folder, 'tree', 'empty folder'))


def copy(source, target):
    for folder, folders, files in os.walk(source):
        at = os.path.join(target, os.path.relpath(folder, source))
        os.makedirs(at, exist_ok=True)
        folders.sort()
        for name in sorted(files):
            shutil.copyfile(os.path.join(folder, name), os.path.join(at, name))
            keep_time(os.path.join(folder, name), os.path.join(at, name))


def keep_time(source, target):
    when = os.stat(source).st_mtime
    os.utime(target, (when, when))


def append(path, data):
    with open(path, 'ab') as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def fill(a):
    options = json.load(open(os.path.join(a.folder, 'options.json')))
    copy(os.path.join(a.folder, 'tree'), a.mount)
    os.sync()
    gaps, pieces, woven = os.path.join(a.mount, '.gap'), os.path.join(a.mount, 'pieces'), os.path.join(a.folder, 'woven')
    os.makedirs(gaps)
    os.makedirs(pieces)
    for i in range(options['gaps']):
        append(os.path.join(gaps, str(i)), b'\xa5' * options['chunk'])
    for i in range(0, options['gaps'], 2):
        os.remove(os.path.join(gaps, str(i)))
    os.sync()
    names = sorted(os.listdir(woven))
    bodies = {name: open(os.path.join(woven, name), 'rb').read() for name in names}
    for i in range(options['chunks']):
        for name in names:
            append(os.path.join(pieces, name), bodies[name][i * options['chunk']:(i + 1) * options['chunk']])
    for name in names:
        keep_time(os.path.join(woven, name), os.path.join(pieces, name))
    shutil.rmtree(gaps)
    os.sync()


def drop(a):
    for path in open(os.path.join(a.folder, 'doomed.lst')).read().splitlines():
        os.remove(os.path.join(a.mount, path))
    os.sync()
    copy(os.path.join(a.folder, 'late'), a.mount)
    os.sync()


def main():
    p = argparse.ArgumentParser()
    verbs = p.add_subparsers(dest='verb', required=True)
    g = verbs.add_parser('gen')
    g.add_argument('seed', type=int)
    g.add_argument('folder')
    for name, usual in (('small', 300), ('big', 3), ('big-max', 3000000), ('woven', 3), ('chunks', 30), ('chunk', 16384),
                        ('deep', 9), ('doomed', 12), ('gaps', 100)):
        g.add_argument('--' + name, type=int, default=usual)
    g.add_argument('--bmp', action='store_true', help='no names with letters past the basic plane')
    for verb in ('fill', 'drop'):
        v = verbs.add_parser(verb)
        v.add_argument('folder')
        v.add_argument('mount')
    a = p.parse_args()
    {'gen': generate, 'fill': fill, 'drop': drop}[a.verb](a)


if __name__ == '__main__':
    main()
