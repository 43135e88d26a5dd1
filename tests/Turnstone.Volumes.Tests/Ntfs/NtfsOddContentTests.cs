using System.Buffers.Binary;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ntfs;

/// <summary>What ntfs-3g does not write: bits set by hand in a volume that it wrote.</summary>
public sealed class NtfsOddContentTests
{
    private static readonly OutsideVolume Made = NtfsBench.Usual();

    [Fact, Trait("kind", "privileged")]
    public void An_encrypted_file_says_whose_key_is_needed_and_where_its_bytes_lie()
    {
        using ImageView image = Made.Open();
        Entry plain = Named(image, "clip 0.mov");
        Entry encrypted = Named(Patched(image, plain, (record, data) => record[data + 13] |= 0x40), "clip 0.mov");
        Assert.Contains("EFS", Assert.IsType<UnreadableContent>(encrypted.Content).Why);
        Assert.Equal(plain.Size, encrypted.Size);
        Assert.Equal(plain.Content!.Extents![0].Offset, encrypted.Content!.Extents![0].Offset);
    }

    [Fact, Trait("kind", "privileged")]
    public void A_file_whose_reparse_point_is_lost_is_not_read_as_if_it_had_none()
    {
        using ImageView image = Made.Open();
        Entry packed = Named(image, "system compressed.exe");
        Entry lost = Named(Patched(image, packed, (record, _) => record[NtfsBench.AttributeAt(record, 0xC0)] = 0xE0), "system compressed.exe");
        Assert.Contains("reparse point", Assert.IsType<UnreadableContent>(lost.Content).Why);
    }

    [Fact, Trait("kind", "privileged")]
    public void Bytes_past_the_valid_length_read_as_zeros()
    {
        using ImageView image = Made.Open();
        Entry plain = Named(image, "clip 0.mov");
        ISectorView view = Patched(image, plain, (record, data) => BinaryPrimitives.WriteInt64LittleEndian(record.AsSpan(data + 0x38), 5000));
        byte[] bytes = NtfsBench.Bytes(Named(view, "clip 0.mov"), view);
        Assert.Equal(NtfsBench.Bytes(plain, image)[..5000], bytes[..5000]);
        Assert.All(bytes[5000..], b => Assert.Equal(0, b));
    }

    [Fact, Trait("kind", "privileged")]
    public void A_torn_second_half_of_a_record_leaves_the_first_half_standing()
    {
        using ImageView image = Made.Open();
        Entry plain = Named(image, "clip 0.mov");
        Entry torn = Named(Patched(image, plain, (record, _) => record[1023] ^= 1), "clip 0.mov");
        Assert.Equal((plain.Path, plain.Size, NtfsBench.Digest(plain.Content, image)), (torn.Path, torn.Size, NtfsBench.Digest(torn.Content, image)));
    }

    [Fact, Trait("kind", "privileged")]
    public void A_run_that_leaves_the_volume_is_unknown_from_there_on()
    {
        using ImageView image = Made.Open();
        ISectorView view = Patched(image, Named(image, "clip 0.mov"), (record, data) => record[data + 0x40] = 0x88);
        Entry bent = Named(view, "clip 0.mov");
        Assert.Equal(Certainty.Likely, bent.Certainty);
        Assert.Equal([ExtentKind.Unknown], bent.Content!.Extents!.Select(e => e.Kind));
        Assert.NotEmpty(bent.Notes);
    }

    [Fact, Trait("kind", "privileged")]
    public void A_file_on_clusters_that_are_marked_free_is_not_sure()
    {
        using ImageView image = Made.Open();
        UsageRun free = NtfsBench.Open(image).Usage().First(run => run.Usage == Usage.Free && run.Place.Length > 4 << 20);
        Entry plain = Named(image, "clip 0.mov");
        ISectorView view = Patched(image, plain, (record, data) =>
        {
            // One run: three bytes of length, three of place.
            record[data + 0x40] = 0x33;
            BinaryPrimitives.WriteInt32LittleEndian(record.AsSpan(data + 0x41), (int)((plain.Size!.Value + 4095) / 4096));
            BinaryPrimitives.WriteInt32LittleEndian(record.AsSpan(data + 0x44), (int)(free.Place.Offset / 4096));
        });
        Entry moved = Named(view, "clip 0.mov");
        Assert.Equal((Certainty.Likely, free.Place.Offset), (moved.Certainty, moved.Content!.Extents![0].Offset));
        Assert.Contains("free", Assert.Single(moved.Notes));
    }

    [Fact, Trait("kind", "privileged")]
    public void A_sequence_number_that_does_not_fit_makes_an_orphan()
    {
        using ImageView image = Made.Open();
        Entry folder = NtfsBench.Open(image).Entries().Single(e => e is { Deleted: false, Kind: EntryKind.Folder, Path.Name: "media" });
        Entry orphan = Named(Patched(image, folder, (record, _) => record[0x10]++), "clip 0.mov");
        Assert.Equal((Certainty.Guessed, "[folder not known]"), (orphan.Certainty, orphan.Path.Names[0]));
    }

    [Fact, Trait("kind", "privileged")]
    public void Folders_that_contain_each_other_end_in_a_stand_in()
    {
        using ImageView image = Made.Open();
        Entry[] levels = [.. NtfsBench.Open(image).Entries().Where(e => e.Path.Names is ["deep", _] or ["deep", _, _] && e.Kind == EntryKind.Folder).OrderBy(e => e.Path.Names.Count)];
        ISectorView view = Patched(image, levels[0], (record, _) =>
        {
            byte[] child = new byte[1024];
            image.TryRead(Place(levels[1]), child);
            BinaryPrimitives.WriteUInt64LittleEndian(record.AsSpan(NtfsBench.AttributeAt(record, 0x30) + 0x18), (ulong)levels[1].Number!.Value | ((ulong)child[0x10] << 48));
        });
        Assert.All(NtfsBench.Open(view).Entries().Where(e => e.Path.Name == "bottom.bin"), e => Assert.Equal(("[folder not known]", Certainty.Guessed), (e.Path.Names[0], e.Certainty)));
    }

    private static long Place(Entry entry) => (4 * 4096) + (entry.Number!.Value * 1024);

    private static Entry Named(ISectorView view, string name) => NtfsBench.Open(view).Entries().Single(e => !e.Deleted && e.Path.Name == name);

    /// <summary>The image with one record changed; the change gets the record and where its data attribute starts.</summary>
    private static PatchedView Patched(ImageView image, Entry entry, Action<byte[], int> change)
    {
        var record = new byte[1024];
        image.TryRead(Place(entry), record);
        change(record, NtfsBench.AttributeAt(record, 0x80));
        return new PatchedView(image, [(Place(entry), record)]);
    }
}
