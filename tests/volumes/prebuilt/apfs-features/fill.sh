# In the guest: fills /dev/sda from the payload, takes a snapshot, goes on.
modprobe apfs || exit 1
mount -t apfs -o readwrite /dev/sda /mnt || exit 1
again() { sync; umount /mnt; mount -t apfs -o readwrite /dev/sda /mnt || exit 1; }
cp -R tree/packed tree/attributes tree/then /mnt/ && again
sh attributes.sh || echo attributes failed
again
cp -R tree/crowd tree/kept tree/links /mnt/ && sync || exit 1
ln /mnt/links/first.bin /mnt/links/second.bin; ln /mnt/links/first.bin /mnt/kept/third.bin
ln -s '../kept/same.bin' '/mnt/links/a link'; ln -s '../kept' '/mnt/then/gone link'
mkdir /mnt/sparse
dd if=tree/kept/same.bin of=/mnt/sparse/holes.bin bs=4096 count=2 2>/dev/null
dd if=tree/kept/same.bin of=/mnt/sparse/holes.bin bs=4096 seek=300 count=3 conv=notrunc 2>/dev/null

again
./take /mnt first || exit 1
again
mv '/mnt/kept/will be renamed.txt' '/mnt/kept/renamed.txt'
rm -r /mnt/then
sync
mkdir /mnt/new; echo later > /mnt/later.txt; sync
umount /mnt
dmesg | grep -i apfs > /out/kernel; true
