# In the guest: what the driver shows after fresh mounts, live and of the snapshot.
modprobe apfs
list() { cd /mnt && find . -type f -exec sha256sum {} + > /out/$1.files; find . -type l | while read -r l; do printf '%s\t%s\n' "$l" "$(readlink "$l")"; done > /out/$1.links; find . -exec stat -c '%Y %s %h %i %n' {} + > /out/$1.stat; getfattr -Rd -m - -e hex . > /out/$1.attributes 2>/dev/null; find . -type d > /out/$1.folders; cd /; umount /mnt; }
mount -t apfs -o ro /dev/sda /mnt && list live
mount -t apfs -o ro,snap=first /dev/sda /mnt && list first
dmesg | grep -i apfs > /out/kernel; true
