namespace Turnstone.Volumes.HfsPlus;

/// <summary>What a catalog record is about.</summary>
internal enum CatalogRecordType : ushort
{
    Folder = 1,
    File = 2,
    FolderThread = 3,
    FileThread = 4,
}

/// <summary>One record of the catalog: a folder, a file, or the thread that leads from a number to a name.</summary>
/// <remarks>Apple, Technical Note TN1150, HFS Plus Volume Format, 2004, "Catalog File" (from memory); numbers below 16 are the file system's own.</remarks>
internal readonly ref struct CatalogRecord
{
    public const uint RootParent = 1, Root = 2, FirstUserId = 16;

    private const int FolderLength = 88, FileLength = 248, ThreadLength = 10, KeyLengthMin = 6, NameLengthMax = 255;
    private const int IdAt = 8, OwnerFlagsAt = 41, ModeAt = 42, SpecialAt = 44, TypeAt = 48, CreatorAt = 52, FinderFlagsAt = 56, DataForkAt = 88, ResourceForkAt = 168;
    private readonly ReadOnlySpan<byte> _key;
    private readonly ReadOnlySpan<byte> _data;

    private CatalogRecord(ReadOnlySpan<byte> record)
    {
        _key = record;
        _data = record[(2 + record.U16(0))..];
    }

    /// <summary>The folder in which it stands; a thread's own number.</summary>
    public uint Parent => _key.U32(2);

    public ReadOnlySpan<byte> NameBytes => _key.Slice(8, 2 * _key.U16(6));

    public string Name => NameBytes.Text();

    public CatalogRecordType Type => (CatalogRecordType)_data.U16(0);

    public bool IsThread => Type is CatalogRecordType.FolderThread or CatalogRecordType.FileThread;

    public ushort Flags => _data.U16(2);

    public uint Id => IsThread ? Parent : _data.U32(IdAt);

    public uint ThreadParent => _data.U32(4);

    public string ThreadName => _data.Slice(ThreadLength, 2 * _data.U16(8)).Text();

    public byte OwnerFlags => _data[OwnerFlagsAt];

    public ushort Mode => _data.U16(ModeAt);

    /// <summary>For a hard link the number of the file or folder that it leads to.</summary>
    public uint Special => _data.U32(SpecialAt);

    public uint FinderType => _data.U32(TypeAt);

    public uint FinderCreator => _data.U32(CreatorAt);

    public ushort FinderFlags => _data.U16(FinderFlagsAt);

    public ForkData DataFork => ForkData.Read(_data[DataForkAt..]);

    public ForkData ResourceFork => ForkData.Read(_data[ResourceForkAt..]);

    /// <summary>One of the record's dates, as stored.</summary>
    public uint Date(int at) => _data.U32(at);

    /// <summary>Reads a record that <see cref="LengthOf"/> has measured.</summary>
    public static CatalogRecord Of(ReadOnlySpan<byte> record) => new(record);

    /// <summary>Bytes that the record takes, told from its own lengths; 0 where it is no catalog record.</summary>
    public static int LengthOf(ReadOnlySpan<byte> record, bool isLeaf)
    {
        if (record.Length < 2 + KeyLengthMin)
            return 0;
        int key = record.U16(0), name = record.U16(6);
        if (name > NameLengthMax || key != KeyLengthMin + (2 * name) || record.Length < 2 + key + 4)
            return 0;
        if (!isLeaf)
            return 2 + key + 4;
        int data = DataLength(record[(2 + key)..]);
        return data == 0 ? 0 : 2 + key + data;
    }

    private static int DataLength(ReadOnlySpan<byte> data) => data.U16(0) switch
    {
        (ushort)CatalogRecordType.Folder when data.Length >= FolderLength => FolderLength,
        (ushort)CatalogRecordType.File when data.Length >= FileLength => FileLength,
        (ushort)CatalogRecordType.FolderThread or (ushort)CatalogRecordType.FileThread when data.Length >= ThreadLength && data.U16(8) <= NameLengthMax
            && data.Length >= ThreadLength + (2 * data.U16(8)) => ThreadLength + (2 * data.U16(8)),
        _ => 0,
    };
}
