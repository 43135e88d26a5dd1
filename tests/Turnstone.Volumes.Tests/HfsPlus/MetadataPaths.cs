using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.HfsPlus;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>For each file of a volume, the nodes that hold its record and those of the folders above it.</summary>
internal sealed class MetadataPaths
{
    private static readonly Dictionary<string, MetadataPaths> Kept = [];
    private readonly Dictionary<string, List<ByteRange>> _nodes = [];
    private readonly List<ByteRange> _always = [];

    private MetadataPaths(string name)
    {
        ISectorView disk = Prebuilt.View(name);
        var place = new VolumePlace(new PartView(disk, new ByteRange(0, disk.Length)), 0, 0);
        var reading = new VolumeReading(place, FoundHeader.In(place.View)!);
        _always.AddRange(reading.ExtentsMap.Pieces.Select(p => p.Place));
        var nodes = new Dictionary<uint, ByteRange>();
        var rows = new List<(uint Id, uint Parent, string Name, uint Target)>();
        foreach (LeafNode leaf in LeafSurvey.Of(reading.Catalog).Live)
            Note(reading, leaf, nodes, rows);
        var folders = rows.ToDictionary(r => r.Id);
        foreach ((uint id, uint parent, string own, uint target) in rows)
            _nodes[PathOf(own, parent, folders)] = [.. Above(id, folders).Select(n => nodes[n]), .. target == 0 ? [] : Linked(target, rows, folders).Select(n => nodes[n])];
    }

    public static MetadataPaths Of(string name)
    {
        lock (Kept)
            return Kept.TryGetValue(name, out MetadataPaths? kept) ? kept : Kept[name] = new MetadataPaths(name);
    }

    /// <summary>Whether the file's bytes, its records and a volume header are held; the index may have holes.</summary>
    public bool AreHeld(ManifestLine line, ISectorView disk)
    {
        string path = line.Type == "stream" ? line.Path[..line.Path.LastIndexOf('/')] : line.Path;
        bool header = Holes.IsHeld(disk, new ByteRange(1024, 512)) || Holes.IsHeld(disk, new ByteRange(disk.Length - 1024, 512));
        return header && _always.Concat(_nodes[path]).Concat(line.Extents.Select(e => new ByteRange(e.ImageOffset!.Value, e.Length))).All(r => Holes.IsHeld(disk, r));
    }

    private static void Note(VolumeReading reading, LeafNode leaf, Dictionary<uint, ByteRange> nodes, List<(uint Id, uint Parent, string Name, uint Target)> rows)
    {
        BTreeNode node = reading.Catalog.Read(leaf.Number);
        long at = (long)leaf.Number * reading.Catalog.NodeBytes;
        ForkPiece piece = reading.CatalogMap.Pieces.Single(p => p.FileOffset <= at && at < p.FileEnd);
        for (int i = 0; i < node.Found; i++)
        {
            CatalogRecord record = CatalogRecord.Of(node.Record(i));
            if (record.IsThread)
                continue;
            nodes[record.Id] = new ByteRange(piece.VolumeOffset + at - piece.FileOffset, reading.Catalog.NodeBytes);
            rows.Add((record.Id, record.Parent, record.Name, HardLinks.IsFileLink(record) ? record.Special : 0));
        }
    }

    private static IEnumerable<uint> Linked(uint target, List<(uint Id, uint Parent, string Name, uint Target)> rows, Dictionary<uint, (uint Id, uint Parent, string Name, uint Target)> folders) =>
        Above(rows.Single(r => r.Name == $"iNode{target}").Id, folders);

    private static IEnumerable<uint> Above(uint id, Dictionary<uint, (uint Id, uint Parent, string Name, uint Target)> folders)
    {
        for (uint at = id; at != CatalogRecord.Root; at = folders[at].Parent)
            yield return at;
    }

    private static string PathOf(string own, uint parent, Dictionary<uint, (uint Id, uint Parent, string Name, uint Target)> folders) =>
        string.Join('/', Above(parent == CatalogRecord.RootParent ? CatalogRecord.Root : parent, folders).Reverse().Select(f => folders[f].Name).Append(own).Select(n => n.Replace('/', ':')));
}
