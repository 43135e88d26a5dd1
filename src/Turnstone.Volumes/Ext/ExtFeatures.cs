namespace Turnstone.Volumes.Ext;

/// <summary>Features that a driver may ignore.</summary>
/// <remarks>Names and bits of all three sets: Linux kernel 6.1 documentation, filesystems/ext4, 'Super Block'.</remarks>
[Flags]
internal enum Compatible : uint
{
    None = 0,
    HasJournal = 0x4,
    DirIndex = 0x20,
    SparseSuper2 = 0x200,
    FastCommit = 0x400,
}

/// <summary>Features without which the volume must not be read.</summary>
[Flags]
internal enum Incompatible : uint
{
    None = 0,
    FileType = 0x2,
    Recover = 0x4,
    JournalDevice = 0x8,
    MetaBlockGroups = 0x10,
    Extents = 0x40,
    Bits64 = 0x80,
    MultiMount = 0x100,
    FlexGroups = 0x200,
    AttributeInodes = 0x400,
    ChecksumSeed = 0x2000,
    LargeDirectories = 0x4000,
    InlineData = 0x8000,
    Encrypt = 0x10000,
    CaseFold = 0x20000,
}

/// <summary>Features without which the volume must not be written.</summary>
[Flags]
internal enum ReadOnlyCompatible : uint
{
    None = 0,
    SparseSuper = 0x1,
    LargeFile = 0x2,
    HugeFile = 0x8,
    DescriptorSums = 0x10,
    DirLinkCount = 0x20,
    ExtraInodeSize = 0x40,
    BigAlloc = 0x200,
    MetadataSums = 0x400,
}
