using System.IO.Hashing;
using Turnstone.Media;

namespace Turnstone.Volumes.Partitions;

/// <summary>A GUID partition table: the first one, or the copy at the end where the first one is not held or damaged.</summary>
internal sealed class GptTable(ISectorView disk, int sectorBytes)
{
    private const int UsualArrayBytes = 16_384;
    private readonly List<string> _notes = [];

    /// <summary>Where both tables lie, as far as nothing else is known.</summary>
    public IReadOnlyList<ByteRange> UsualPlaces
    {
        get
        {
            long end = disk.Length / sectorBytes * sectorBytes;
            long copy = Math.Max(0, end - sectorBytes - UsualArrayBytes);
            return [new(0, (2L * sectorBytes) + UsualArrayBytes), ByteRange.Between(copy, end)];
        }
    }

    /// <summary>The table, or null where neither copy is held and sound.</summary>
    /// <param name="protectedEnd">Last sector that the protective MBR covers; differs from the disk's where that grew or was copied to a larger one.</param>
    public PartitionList? Read(long? protectedEnd)
    {
        Parsed<GptHeader> first = Header(1);
        Parsed<GptHeader> copy = Copy(first.OrNone?.Alternate, protectedEnd);
        if (first.OrNone is null && copy.OrNone is null)
            return null;
        if (Partitions(first, Origin.Table) is { } primary)
        {
            Compare(first.OrNone, copy);
            return new PartitionList(primary, Places(first, copy), _notes);
        }

        if (Partitions(copy, Origin.Copy) is { } backup)
        {
            _notes.Add($"the partition table was read from its copy at the end of the disk; the first one {Trouble(first)}");
            return new PartitionList(backup, Places(first, copy), _notes);
        }

        // Better a table whose sum does not fit, and said so, than none.
        _notes.Add("the checksum of the partition entries does not fit or they are not all held");
        return new PartitionList(Unchecked(first, Origin.Table) ?? Unchecked(copy, Origin.Copy) ?? [], Places(first, copy), _notes);
    }

    private Parsed<GptHeader> Copy(params long?[] told)
    {
        long lastSector = (disk.Length / sectorBytes) - 1;
        Parsed<GptHeader> atEnd = Header(lastSector);
        IEnumerable<Parsed<GptHeader>> elsewhere = told.OfType<long>().Where(sector => sector > 1 && sector < lastSector).Select(Header);
        return elsewhere.FirstOrDefault(header => header is Parsed<GptHeader>.Value) ?? atEnd;
    }

    private Parsed<GptHeader> Header(long sector) => disk.Parse(sector * sectorBytes, sectorBytes, GptHeader.Read) switch
    {
        Parsed<GptHeader>.Value { Item: var header } when header.Own != sector || !HasRoom(header) =>
            new Parsed<GptHeader>.Damaged(0, $"a header that belongs at sector {header.Own} with entries at sector {header.ArrayStart}"),
        var parsed => parsed,
    };

    private bool HasRoom(GptHeader header) =>
        header.ArrayStart > 0 && header.ArrayStart <= (disk.Length - header.ArrayBytes) / sectorBytes;

    private List<Partition>? Partitions(Parsed<GptHeader> header, Origin origin)
    {
        if (header.OrNone is not { } h)
            return null;
        var array = new byte[h.ArrayBytes];
        bool isSound = disk.TryRead(h.ArrayStart * sectorBytes, array) && Crc32.HashToUInt32(array) == h.ArrayCrc;
        return isSound ? List(h, array, origin) : null;
    }

    /// <summary>Entries one by one, each as far as it is held.</summary>
    private List<Partition>? Unchecked(Parsed<GptHeader> header, Origin origin)
    {
        if (header.OrNone is not { } h)
            return null;
        var array = new byte[h.ArrayBytes];
        for (int i = 0; i < h.Entries; i++)
            disk.TryRead((h.ArrayStart * sectorBytes) + ((long)i * h.EntryBytes), array.AsSpan(i * h.EntryBytes, h.EntryBytes));
        return List(h, array, origin);
    }

    private List<Partition> List(GptHeader header, byte[] array, Origin origin)
    {
        var partitions = new List<Partition>();
        for (int i = 0; i < header.Entries; i++)
        {
            if (GptEntry.Read(array.AsSpan(i * header.EntryBytes, header.EntryBytes)).OrNone is not { } entry)
                continue;
            var place = new ByteRange(entry.First * sectorBytes, (entry.Last - entry.First + 1) * sectorBytes);
            partitions.Add(new Partition($"p{i + 1}", place, PartitionTypes.OfGpt(entry.Type), entry.Name.Length == 0 ? null : entry.Name, origin));
            if (place.End > disk.Length)
                _notes.Add($"p{i + 1} reaches {place.End - disk.Length} bytes past the end of the disk");
        }

        return partitions;
    }

    private void Compare(GptHeader? first, Parsed<GptHeader> copy)
    {
        if (copy.OrNone is { } other && (other.ArrayCrc != first?.ArrayCrc || other.Disk != first.Disk))
            _notes.Add("the two copies of the partition table disagree; the first one is used");
        else if (copy.OrNone is null)
            _notes.Add($"the copy of the partition table at the end of the disk {Trouble(copy)}");
    }

    private static string Trouble(Parsed<GptHeader> header) => header.Match(
        value: _ => "has entries that do not fit their checksum or are not held",
        damaged: damage => $"is damaged ({damage.What})",
        notHeld: () => "is not held");

    private List<ByteRange> Places(params Parsed<GptHeader>[] headers) =>
    [
        new(0, sectorBytes),
        .. headers.Select(header => header.OrNone).OfType<GptHeader>().SelectMany(h => (ByteRange[])
            [new(h.Own * sectorBytes, sectorBytes), new(h.ArrayStart * sectorBytes, h.ArrayBytes)]),
    ];
}
