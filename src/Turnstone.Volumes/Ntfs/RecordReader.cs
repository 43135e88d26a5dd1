namespace Turnstone.Volumes.Ntfs;

/// <summary>Reads a file's record and follows its attribute list to the records that continue it.</summary>
/// <param name="layout">The volume's sizes.</param>
/// <param name="table">The file table, as far as it is known.</param>
/// <param name="withIndex">Whether the index of a folder is wanted, too.</param>
internal sealed class RecordReader(NtfsLayout layout, MasterFileTable table, bool withIndex = false)
{
    // A list that keeps pointing to records of other files is not this file's list.
    private const int StrangersMax = 64;

    private readonly byte[] _extension = new byte[layout.Boot.RecordBytes];
    private readonly byte[] _record = new byte[layout.Boot.RecordBytes];

    /// <summary>Reads one file by the number of its base record.</summary>
    public Parsed<FileRecord> Read(long number) =>
        table.TryRead(number, _record, out Strides held) ? Read(_record, held, number) : new Parsed<FileRecord>.NotHeld();

    /// <summary>Reads a file whose base record was taken from the disk already; the record is restored in place.</summary>
    public Parsed<FileRecord> Read(Span<byte> record, Strides held, long number) =>
        RecordHeader.Read(record, held, number) switch
        {
            Parsed<RecordHeader>.Value { Item: var header } => new Parsed<FileRecord>.Value(Continue(record, header)),
            Parsed<RecordHeader>.Damaged d => new Parsed<FileRecord>.Damaged(d.At, d.What),
            _ => new Parsed<FileRecord>.NotHeld(),
        };

    /// <summary>Reads what follows the head of a base record.</summary>
    public FileRecord Continue(ReadOnlySpan<byte> record, RecordHeader header)
    {
        var file = new FileRecord(header);
        Gather(record, header, file);
        if (file.Find(AttributeType.AttributeList) is { } list)
            Follow(list, file);
        return file;
    }

    private void Gather(ReadOnlySpan<byte> record, RecordHeader header, FileRecord file)
    {
        var walk = new AttributeWalk(record, header);
        while (walk.MoveNext())
            Take(walk.Current, header.Good, file);
        file.IsCutShort |= walk.IsCutShort;
        file.Trouble ??= walk.Trouble;
    }

    private void Take(AttributeView attribute, Strides good, FileRecord file)
    {
        switch (attribute.Type)
        {
            case AttributeType.StandardInformation when Value(attribute, good, file, out ReadOnlySpan<byte> value):
                file.Info = StandardInformation.Read(value).OrNone ?? file.Info;
                break;
            case AttributeType.FileName when Value(attribute, good, file, out ReadOnlySpan<byte> value):
                if (FileName.Read(value) is Parsed<FileName>.Value { Item: var name })
                    file.Names.Add(name);
                else
                    file.IsCutShort = true;
                break;
            case AttributeType.Data or AttributeType.ReparsePoint or AttributeType.AttributeList or AttributeType.VolumeName or AttributeType.VolumeInformation:
            case AttributeType.IndexRoot or AttributeType.IndexAllocation or AttributeType.Bitmap when withIndex:
                Keep(attribute, good, file);
                break;
            default:
                // The disk holds more kinds than are named here; they say nothing of names or content.
                break;
        }
    }

    // Times and names are used whole or not at all.
    private static bool Value(AttributeView attribute, Strides good, FileRecord file, out ReadOnlySpan<byte> value)
    {
        value = [];
        bool whole = attribute is { HasHead: true, IsResident: true } && attribute.TryValue(out value, out int place) && good.Cover(place, value.Length);
        file.IsCutShort |= !whole;
        return whole;
    }

    private void Keep(AttributeView attribute, Strides good, FileRecord file)
    {
        if (!attribute.HasHead)
            file.IsCutShort = true;
        string name = "";
        if (attribute.IsNamed && !attribute.TryName(out name))
        {
            file.IsCutShort = true;
            return;
        }

        file.Get(attribute.Type, name).Add(attribute, layout, good);
    }

    private void Follow(AttributeFacts list, FileRecord file)
    {
        byte[] bytes = AttributeBytes.Prefix(list, layout, AttributeList.BytesMax, out bool isWhole);
        file.IsCutShort |= !isWhole;
        int strangers = 0;
        var seen = new HashSet<long> { file.Header.Number };
        foreach (RecordReference record in AttributeList.Records(bytes))
        {
            if (!seen.Add(record.Number) || TryExtend(record, file))
                continue;
            file.IsCutShort = true;
            if (++strangers > StrangersMax)
                break;
        }
    }

    private bool TryExtend(RecordReference reference, FileRecord file)
    {
        if (!table.TryRead(reference.Number, _extension, out Strides held))
            return false;
        if (RecordHeader.Read(_extension, held, reference.Number) is not Parsed<RecordHeader>.Value { Item: var header } || !Belongs(header, reference, file.Header))
            return false;
        Gather(_extension, header, file);
        return true;
    }

    // Giving a file up raises the numbers of all its records; what they say of each other stays.
    private static bool Belongs(RecordHeader extension, RecordReference reference, RecordHeader file)
    {
        if (extension.Base.Number != file.Number || extension.IsInUse != file.IsInUse)
            return false;
        return file.IsInUse
            ? extension.Base.Sequence == file.Sequence && extension.Sequence == reference.Sequence
            : extension.Base.AfterDeletion == file.Sequence && extension.Sequence == reference.AfterDeletion;
    }
}
