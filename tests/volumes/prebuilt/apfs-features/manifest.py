# manifest.py IMAGE PAYLOAD UNPACKED LISTED MANIFEST
#
# Writes the manifest of apfs-features: what the driver showed after fresh mounts (LISTED, by list.sh) against the seeded tree
# (PAYLOAD and UNPACKED, by make-tree.py), and each file's own blocks looked up in the image.
import hashlib, os, mmap, collections, sys
image,payload,unpacked,listed,out=sys.argv[1:]
f=open(image,'rb'); m=mmap.mmap(f.fileno(),0,access=mmap.ACCESS_READ)
at=collections.defaultdict(list); pos=0
while True:
    try: pos=os.lseek(f.fileno(),pos,os.SEEK_DATA)
    except OSError: break
    e=os.lseek(f.fileno(),pos,os.SEEK_HOLE)
    for b in range(pos//4096,-(-e//4096)): at[bytes(m[b*4096:b*4096+4096])].append(b)
    pos=e
def load(state):
    sums={l[66:].rstrip('\n').removeprefix('./'):l[:64] for l in open(f'{listed}/{state}.files')}
    links=dict(l.rstrip('\n').removeprefix('./').split('\t') for l in open(f'{listed}/{state}.links'))
    stat={}
    for l in open(f'{listed}/{state}.stat'):
        t,s,h,i,n=l.rstrip('\n').split(' ',4); stat[n.removeprefix('./')]=(int(t),int(s),int(i))
    return sums,links,stat
live,first=load('live'),load('first')
liveinodes={v[2] for v in live[2].values()}
same=open(payload+'/tree/kept/same.bin','rb').read()
content={'links/second.bin':open(payload+'/tree/links/first.bin','rb').read(),'later.txt':b'later\n',
 'kept/renamed.txt':open(payload+'/tree/kept/will be renamed.txt','rb').read(),
 'sparse/holes.bin':same[:8192]+bytes(298*4096)+same[:12288]}
content['kept/third.bin']=content['links/second.bin']
used=set(); done={}
def data(p):
    if p in content: return content[p]
    if p.startswith('packed/') or 'packed and gone' in p: return open(unpacked+'/'+os.path.basename(p),'rb').read()
    return open(payload+'/tree/'+p,'rb').read()
def places(d,ino):
    if ino in done: return done[ino]
    blocks=[d[i:i+4096].ljust(4096,b'\0') for i in range(0,len(d),4096)]
    runs=[];i=0
    while i<len(blocks):
        n=min(4096,len(d)-i*4096)
        if blocks[i]==bytes(4096):
            if runs and runs[-1][1]=='hole': runs[-1][2]+=n
            else: runs.append([i*4096,'hole',n])
            i+=1; continue
        best=(0,None)
        for c in at.get(blocks[i],[]):
            if c in used: continue
            k=0
            while i+k<len(blocks) and blocks[i+k]!=bytes(4096) and (c+k) in at.get(blocks[i+k],[]) and c+k not in used: k+=1
            if k>best[0]: best=(k,c)
        k,c=best
        if not k: return None
        used.update(range(c,c+k))
        ln=min(k*4096,len(d)-i*4096)
        if runs and runs[-1][1]!='hole' and runs[-1][1]+runs[-1][2]==c*4096: runs[-1][2]+=ln
        else: runs.append([i*4096,c*4096,ln])
        i+=k
    done[ino]=runs; return runs
rows=[]; amb=0
def add(state,names,deleted):
    global amb
    sums,links,stat=state
    for p in sorted(names,key=lambda p:(p!='kept/same.bin',p)):
        t,s,i=stat[p]
        if p in links: rows.append((p,'link',len(links[p].encode()),hashlib.sha256(links[p].encode()).hexdigest(),t,deleted,'unproven','')); continue
        if p not in sums: rows.append((p,'dir',0,'',t,deleted,'unproven','')); continue
        d=data(p); assert hashlib.sha256(d).hexdigest()==sums[p],p
        assert len(d)==s,p
        packed='packed/' in p or 'packed and gone' in p
        runs=None if packed else places(d,i)
        if runs is None and not packed: print('no place',p); 
        if runs: 
            for o,a,n in runs:
                if a!='hole':
                    for k in range(0,n,4096):
                        if len(at[d[o+k:o+k+4096].ljust(4096,b'\0')])>1: amb+=1
        rows.append((p,'file',s,sums[p],t,deleted,'unproven' if packed else 'bytes',','.join('%s:%s:%s'%tuple(r) for r in runs or [])))
add(live,[n for n in live[2] if n!='.'],0)
add(first,[n for n,v in first[2].items() if v[2] not in liveinodes and n!='.'],1)
for st,p,v in (('live','attributes/carrier.txt/org.example.small',b'a short note'),('live','attributes/org.example.of a folder',b'on a folder')):
    rows.append((p,'stream',len(v),hashlib.sha256(v).hexdigest(),live[2][os.path.dirname(p)][0],0,'unproven',''))
rows.sort()
open(out,'w').write('volumeOffset\tpath\ttype\tsize\tsha256\tmtime\tdeleted\tproof\textents\n'+''.join('\t'.join(map(str,(0,)+r))+'\n' for r in rows))
print(len(rows),'lines;',amb,'blocks stand in more than one place')
