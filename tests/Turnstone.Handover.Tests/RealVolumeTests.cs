using System.Security.Cryptography;
using Turnstone.Bench;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Handover.Tests;

/// <summary>Bags of volumes that outside tools made, against the manifest that was read back through those tools.</summary>
public class RealVolumeTests
{
    public static TheoryData<string, string[], int> Made => new()
    {
        { "make-exfat.sh", ["512", "4096"], 0 },
        { "make-exfat.sh", ["512", "4096"], 40 },
        { "make-fat.sh", ["32"], 0 },
        { "make-fat.sh", ["32"], 40 },
    };

    [Theory]
    [MemberData(nameof(Made))]
    public void Every_delivered_file_has_the_outside_tools_bytes_but_for_the_holes(string script, string[] arguments, int holes)
    {
        OutsideVolume outside = OutsideVolume.Make(script, arguments);
        using ImageView image = outside.Open();
        var view = new HoledView(image, HolesInFiles(outside, holes));
        using var folder = new TempFolder();
        new BagMaker(new HandoverOrder(folder["bag"])).Make(new Grader(view).Findings(Disk.Read(view)));
        Assert.Empty(new BagCheck(folder["bag"]).Run().Problems);

        ILookup<string, ManifestLine> lines = outside.Manifest.Where(line => line.Type == "file").ToLookup(line => $"{line.Path} {line.Deleted}");
        Row[] rows = [.. File.ReadLines(folder["bag/files.tsv"]).Skip(1).Select(Row.Parse).Where(row => row.Kind == "file")];
        foreach (Row row in rows.Where(row => row.Grade == "whole"))
            Assert.Contains(row.Sha256, lines[$"{row.Original} {row.Deleted}"].Select(line => line.Sha256));
        foreach (Row row in rows.Where(row => row is { Grade: "holed", Deleted: false }))
            Assert.Equal(WithZeros(lines[$"{row.Original} False"].Single(), image, view), row.Sha256);
        Assert.Equal(outside.LiveFiles.Select(line => line.Path).Order(StringComparer.Ordinal), rows.Where(row => !row.Deleted).Select(row => row.Original).Order(StringComparer.Ordinal));
        Assert.Equal(holes == 0, rows.Where(row => !row.Deleted).All(row => row.Grade == "whole"));
    }

    // Sectors of live files only: the folders stay, so that every file is known.
    private static IEnumerable<ByteRange> HolesInFiles(OutsideVolume outside, int count)
    {
        var random = new Random(8493);
        (long, long? Offset, long Length)[] extents = [.. outside.LiveFiles.SelectMany(line => line.Extents).Where(extent => extent.ImageOffset is not null)];
        for (int i = 0; i < count; i++)
        {
            (_, long? offset, long length) = extents[random.Next(extents.Length)];
            yield return new ByteRange(offset!.Value + (random.NextInt64(length) / 512 * 512), 512);
        }
    }

    /// <summary>Digest of the outside tool's file with zeros where the view holds nothing.</summary>
    private static string WithZeros(ManifestLine line, ImageView image, HoledView view)
    {
        byte[] file = new byte[line.Size];
        foreach ((long at, long? offset, long length) in line.Extents.Where(extent => extent.ImageOffset is not null))
        {
            Span<byte> part = file.AsSpan((int)at, (int)Math.Min(length, line.Size - at));
            Assert.True(image.TryRead(offset!.Value, part));
            foreach (ByteRange hole in view.Missing(new ByteRange(offset.Value, part.Length)))
                part.Slice((int)(hole.Offset - offset.Value), (int)hole.Length).Clear();
        }

        return Convert.ToHexStringLower(SHA256.HashData(file));
    }

    private sealed record Row(string Original, string Kind, bool Deleted, string Grade, string Sha256)
    {
        public static Row Parse(string line)
        {
            string[] cell = line.Split('\t');
            return new Row(string.Join('/', FileTable.ParsePath(cell[1])), cell[3], cell[4] == "yes", cell[5], cell[11]);
        }
    }
}
