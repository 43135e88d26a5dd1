using System.Buffers.Binary;
using System.Diagnostics;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>A real volume with structures bent, doubled, swapped and cut. CsCheck_Time=600 in the environment runs it for ten minutes.</summary>
public sealed class NtfsFuzzTests
{
    private const int Cluster = 4096, RecordBytes = 1024, Table = 4 * Cluster, Records = 1004;

    private static readonly Lazy<(byte[] Image, OutsideVolume Made)> Volume = new(() => (File.ReadAllBytes(NtfsBench.Usual().Image), NtfsBench.Usual()));

    [Fact, Trait("kind", "privileged")]
    public void A_bent_volume_is_listed_without_exception_in_bounded_time_and_memory() =>
        Gen.ULong.Sample(seed =>
        {
            var random = new Random((int)seed ^ (int)(seed >> 32));
            Walk(Bend(new MemoryView(Volume.Value.Image), random, random.Next(1, 12)));
        });

    [Fact]
    public void Noise_behind_a_boot_sector_is_listed_without_exception() =>
        Gen.Select(Gen.Byte.Array[0, 300_000], Gen.Int[0, 200]).Sample((noise, share) =>
        {
            noise = [.. noise, .. new byte[1 << 16]];
            WriteBoot(noise);
            for (int at = Table; at + RecordBytes <= noise.Length; at += RecordBytes)
            {
                if (noise[at] < share)
                    WriteRecordHead(noise, at);
            }

            Walk(new MemoryView(noise));
        });

    [Fact, Trait("kind", "privileged")]
    public void One_bent_record_hurts_only_its_own_file_and_what_depends_on_it() =>
        Gen.ULong.Sample(seed =>
        {
            var random = new Random((int)seed);
            var whole = new MemoryView(Volume.Value.Image);
            long number = random.Next(64, Records);
            var bent = new PatchedView(whole, [BendRecord(whole, number, random)]);
            var before = NtfsBench.Open(whole).Entries().ToDictionary(Key);
            HashSet<string> near = [.. before.Values.Where(e => e.Number == number).Select(e => string.Join('/', e.Path.Names))];
            var after = NtfsBench.Open(bent).Entries().ToLookup(Key);
            foreach (Entry entry in before.Values.Where(e => e.Number != number && !e.Deleted && !e.Path.Names.Intersect(["shredded.bin", "streams.txt"]).Any() && !IsBelow(e, near)))
                Assert.True(after[Key(entry)].Any(e => e.Kind == entry.Kind && e.Size == entry.Size && e.Certainty <= entry.Certainty), $"{number}: {entry.Path}");
        });

    private static string Key(Entry entry) => $"{entry.Number}{(entry.Deleted ? "d" : "")} {NtfsBench.PathOf(entry)}";

    private static bool IsBelow(Entry entry, HashSet<string> folders) =>
        Enumerable.Range(1, entry.Path.Names.Count).Any(n => folders.Contains(string.Join('/', entry.Path.Names.Take(n))));

    private static void Walk(ISectorView view)
    {
        long started = Stopwatch.GetTimestamp(), allocated = GC.GetAllocatedBytesForCurrentThread();
        int count = 0;
        Span<byte> some = new byte[5000];
        foreach (Volume volume in VolumeFormats.Open(new PartView(view, new ByteRange(0, view.Length)), "p1"))
        {
            _ = volume.Facts;
            Assert.All(volume.Skeleton().Take(100_000).Concat(volume.Usage().Take(100_000).Select(run => run.Place)), place => Assert.True(place.Length >= 0));
            foreach (Entry entry in volume.Entries())
            {
                count++;
                _ = entry.Path.ToString();
                if (entry.Content is not { } content)
                    continue;
                _ = content.Missing(view).Take(100).Count();
                content.TryRead(view, 0, some[..(int)Math.Min(some.Length, content.Length)]);
                content.TryRead(view, Math.Max(0, content.Length - 10), some[..(int)Math.Min(10, content.Length)]);
                if (content is StoredContent stored)
                    Assert.Equal(content.Length, stored.Extents.Sum(extent => extent.Length));
            }
        }

        // A listing of this volume takes some milliseconds and a few megabytes; this catches a hang, and on a busy machine nothing else.
        Assert.True(Stopwatch.GetElapsedTime(started) < TimeSpan.FromMinutes(5), "hangs");
        Assert.True(GC.GetAllocatedBytesForCurrentThread() - allocated < 3L << 30, "too much memory");
        Assert.True(count <= view.Length / 16, "entries out of nothing");
    }

    private static ISectorView Bend(MemoryView image, Random random, int times)
    {
        ISectorView view = image;
        for (int i = 0; i < times; i++)
        {
            view = random.Next(12) switch
            {
                0 => new PatchedView(view, [(random.Next(2) == 0 ? 0 : view.Length - 512, Bent(Read(view, random.Next(2) == 0 ? 0 : view.Length - 512, 512), random))]),
                1 => new PatchedView(view, [((Cluster * 8191L) + (random.Next(4) * 1024), Bent(Read(view, Table, 1024), random))]),
                2 => new PatchedView(view, [(Table + (random.Next(Records) * 1024L), Read(view, Table + (random.Next(Records) * 1024L), 1024))]),
                3 => new PatchedView(view, [(Table + (random.Next(Records) * 1024L), new byte[1024])]),
                4 => new PatchedView(view, [BendIndex(view, random)]),
                5 => new HoledView(view, [new ByteRange(random.NextInt64(view.Length), random.Next(1 << 20))]),
                6 => new HoledView(view, [new ByteRange(Table + random.Next(1 << 20), random.Next(1 << 14))]),
                7 => new PatchedView(view, [BendParent(view, random)]),
                8 => new PatchedView(view, [BendRecord(view, random.Next(16), random)]),
                _ => new PatchedView(view, [BendRecord(view, random.Next(Records), random)]),
            };
        }

        return view;
    }

    private static byte[] Read(ISectorView view, long offset, int length)
    {
        var bytes = new byte[length];
        view.TryRead(offset, bytes);
        return bytes;
    }

    private static (long, byte[]) BendRecord(ISectorView view, long number, Random random) =>
        (Table + (number * RecordBytes), Bent(Read(view, Table + (number * RecordBytes), RecordBytes), random));

    // Folders that contain each other, or themselves.
    private static (long, byte[]) BendParent(ISectorView view, Random random)
    {
        long number = random.Next(24, Records);
        byte[] record = Read(view, Table + (number * RecordBytes), RecordBytes);
        byte[] other = Read(view, Table + (random.Next(24, Records) * (long)RecordBytes), RecordBytes);
        int name = NtfsBench.AttributeAt(record, 0x30);
        if (name + 0x20 > record.Length)
            return (Table, Read(view, Table, 16));
        BinaryPrimitives.WriteUInt64LittleEndian(record.AsSpan(name + 0x18), BinaryPrimitives.ReadUInt32LittleEndian(other.AsSpan(0x2C)) | ((ulong)BinaryPrimitives.ReadUInt16LittleEndian(other.AsSpan(0x10)) << 48));
        record[0x16] |= 2;
        return (Table + (number * RecordBytes), record);
    }

    private static (long, byte[]) BendIndex(ISectorView view, Random random)
    {
        for (int tries = 0; tries < 3000; tries++)
        {
            long at = random.NextInt64(view.Length / Cluster) * Cluster;
            byte[] block = Read(view, at, Cluster);
            if (block.AsSpan().StartsWith("INDX"u8))
                return (at, Bent(block, random));
        }

        return (0, []);
    }

    private static byte[] Bent(byte[] bytes, Random random)
    {
        ulong[] extremes = [0, 1, 0xFF, 0x7FFF, 0xFFFF, 0x7FFF_FFFF, 0xFFFF_FFFF, long.MaxValue, ulong.MaxValue, 0x8000_0000_0000_0000, 64, 1024];
        for (int i = random.Next(1, 6); i > 0; i--)
        {
            int at = random.Next(bytes.Length - 8), width = 1 << random.Next(4);
            if (random.Next(3) > 0)
                at &= ~7;
            var value = new byte[8];
            BinaryPrimitives.WriteUInt64LittleEndian(value, random.Next(2) == 0 ? extremes[random.Next(extremes.Length)] : (ulong)random.NextInt64());
            value.AsSpan(0, width).CopyTo(bytes.AsSpan(at));
        }

        return bytes;
    }

    private static void WriteBoot(byte[] bytes)
    {
        "NTFS    "u8.CopyTo(bytes.AsSpan(3));
        BinaryPrimitives.WriteUInt16LittleEndian(bytes.AsSpan(0x0B), 512);
        bytes[0x0D] = 8;
        BinaryPrimitives.WriteInt64LittleEndian(bytes.AsSpan(0x28), bytes.Length / 512);
        BinaryPrimitives.WriteInt64LittleEndian(bytes.AsSpan(0x30), 4);
        BinaryPrimitives.WriteInt64LittleEndian(bytes.AsSpan(0x38), 8);
        bytes[0x40] = 0xF6;
        bytes[0x44] = 0xF4;
    }

    // Enough of a head that the noise behind it is read as attributes.
    private static void WriteRecordHead(byte[] bytes, int at)
    {
        Span<byte> record = bytes.AsSpan(at, RecordBytes);
        "FILE"u8.CopyTo(record);
        BinaryPrimitives.WriteUInt16LittleEndian(record[4..], 0x30);
        BinaryPrimitives.WriteUInt16LittleEndian(record[6..], 3);
        BinaryPrimitives.WriteUInt16LittleEndian(record[0x14..], 0x38);
        BinaryPrimitives.WriteUInt32LittleEndian(record[0x18..], RecordBytes);
        BinaryPrimitives.WriteUInt32LittleEndian(record[0x1C..], RecordBytes);
        BinaryPrimitives.WriteUInt64LittleEndian(record[0x20..], 0);
        BinaryPrimitives.WriteUInt32LittleEndian(record[0x2C..], (uint)((at - Table) / RecordBytes));
        record[0x30..0x32].CopyTo(record[510..]);
        record[0x30..0x32].CopyTo(record[1022..]);
        for (int a = 0x38, length = 0; a + 24 < RecordBytes; a += length)
        {
            length = Math.Min((record[a + 4] & 0x78) + 24, (RecordBytes - a) / 8 * 8);
            BinaryPrimitives.WriteUInt32LittleEndian(record[a..], (uint)(record[a] % 14) * 16);
            BinaryPrimitives.WriteUInt32LittleEndian(record[(a + 4)..], (uint)length);
        }
    }
}
