# fill.sh, in a virtual machine with Debian 12's kernel: fills /dev/sda through the kernel's hfsplus driver, facts go to /out
modprobe hfsplus; modprobe nls_utf8
mount -t hfsplus -o rw /dev/sda /mnt || exit 1
for d in tree/*; do [ "$d" = tree/pieces ] || cp -R "$d" /mnt/ || exit 1; done; sync
i=0; while [ $i -lt 40 ]; do n=$(printf %02d $i); ln "/mnt/linked/first $n.bin" "/mnt/names/second $n.bin" || exit 1; [ $((i % 4)) = 0 ] && ln "/mnt/linked/first $n.bin" "/mnt/third $n.bin"; i=$((i+1)); done
rm "/mnt/linked/first 03.bin"
ln -s ../linked "/mnt/names/link to folder"; ln -s "folder 01/note 0001.txt" /mnt/link
mkfifo /mnt/names/pipe; mknod /mnt/names/device c 1 3
mkdir -p /mnt/pieces     # one block of each file in turn, each forced to disk: none can lie in one run
n=0; while [ $n -le 60 ]; do for f in a b c d; do dd if=tree/pieces/$f.bin of=/mnt/pieces/$f.bin bs=2048 skip=$n seek=$n count=1 conv=notrunc,fsync 2>/dev/null; done; n=$((n+1)); done
sh attributes.sh || exit 1
sync; rm -r /mnt/gone "/mnt/folder 07"; rm -f /mnt/folder*/note*3.txt; sync
umount /mnt && mount -t hfsplus -o ro /dev/sda /mnt || exit 1
cd /mnt
find . -type f -exec sha256sum {} + > /out/files
find . -type l | while read -r l; do printf '%s\t%s\n' "$l" "$(readlink "$l")"; done > /out/links
find . -exec stat -c '%F	%Y	%i	%s	%n' {} + > /out/stat
cd / && umount /mnt; true
