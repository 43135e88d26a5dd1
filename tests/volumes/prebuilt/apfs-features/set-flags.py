# Sets the BSD flag that no Linux call can set (0x20, stored compressed) in every version of the inodes with a decmpfs attribute.
import struct, sys, os
M=2**32-1
def fl(b):
    s1=s2=0
    for w in struct.unpack('<%dI'%((len(b)-8)//4),b[8:]): s1=(s1+w)%M; s2=(s2+s1)%M
    c1=M-((s1+s2)%M); return (M-((s1+c1)%M))<<32|c1
f=open(sys.argv[1],'r+b'); fd=f.fileno(); pos=0; ids=set(); leaves=[]
while True:
    try: pos=os.lseek(fd,pos,os.SEEK_DATA)
    except OSError: break
    e=os.lseek(fd,pos,os.SEEK_HOLE)
    for at in range(pos,e,4096):
        b=bytearray(os.pread(fd,4096,at))
        t,st=struct.unpack('<II',b[24:32]); fl_,lv,n=struct.unpack('<HHI',b[32:40])
        if t&0xffff in (2,3) and st==0xe and lv==0 and struct.unpack('<Q',b[:8])[0]==fl(b): leaves.append((at,b,n,fl_))
    pos=e
def recs(b,n,flags):
    off,ln=struct.unpack('<HH',b[40:44]); ks=56+off+ln; end=4096-(40 if flags&1 else 0)
    for i in range(n):
        ko,kl,vo,vl=struct.unpack('<HHHH',b[56+off+8*i:64+off+8*i])
        k=struct.unpack('<Q',b[ks+ko:ks+ko+8])[0]; yield k&(2**60-1),k>>60,bytes(b[ks+ko:ks+ko+kl]),end-vo,vl
for at,b,n,g in leaves:
    for i,t,k,v,l in recs(b,n,g):
        if t==4 and b'com.apple.decmpfs' in k: ids.add(i)
done=0
for at,b,n,g in leaves:
    hit=False
    for i,t,k,v,l in recs(b,n,g):
        if t==3 and i in ids:
            w=struct.unpack('<I',b[v+68:v+72])[0]|0x20; b[v+68:v+72]=struct.pack('<I',w); hit=True; done+=1
    if hit: b[:8]=struct.pack('<Q',fl(b)); os.pwrite(fd,b,at)
print(len(ids),'inodes',done,'records')
