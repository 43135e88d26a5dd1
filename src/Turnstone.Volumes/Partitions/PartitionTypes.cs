namespace Turnstone.Volumes.Partitions;

/// <summary>What the type codes of partition tables mean.</summary>
internal static class PartitionTypes
{
    /// <summary>One byte of an MBR entry, in words.</summary>
    /// <remarks>Common practice, no single source; many codes have several meanings.</remarks>
    public static string OfMbr(byte type) => type switch
    {
        0x01 => "FAT12",
        0x04 or 0x06 or 0x0E => "FAT16",
        0x05 or 0x0F or 0x85 => "extended",
        0x07 => "NTFS or exFAT",
        0x0B or 0x0C => "FAT32",
        0x27 => "recovery",
        0x42 => "dynamic disk",
        0x82 => "Linux swap",
        0x83 => "Linux",
        0x8E => "Linux LVM",
        0xA5 or 0xA6 or 0xA9 => "BSD",
        0xAB => "Apple boot",
        0xAF => "HFS+",
        0xEE => "GPT protective",
        0xEF => "EFI system",
        0xFD => "Linux RAID",
        _ => $"type {type:X2}",
    };

    /// <summary>The GUID of a GPT entry, in words; the GUID itself where it is not known.</summary>
    /// <remarks>UEFI Specification 2.x, section 5.3.3, and the publications of the systems that use them (from memory).</remarks>
    public static string OfGpt(Guid type) => s_gpt.TryGetValue(type, out string? name) ? name : type.ToString().ToUpperInvariant();

    private static readonly Dictionary<Guid, string> s_gpt = new()
    {
        [new("C12A7328-F81F-11D2-BA4B-00A0C93EC93B")] = "EFI system",
        [new("EBD0A0A2-B9E5-4433-87C0-68B6B72699C7")] = "basic data",
        [new("E3C9E316-0B5C-4DB8-817D-F92DF00215AE")] = "reserved",
        [new("DE94BBA4-06D1-4D40-A16A-BFD50179D6AC")] = "recovery",
        [new("5808C8AA-7E8F-42E0-85D2-E1E90434CFB3")] = "dynamic disk metadata",
        [new("AF9B60A0-1431-4F62-BC68-3311714A69AD")] = "dynamic disk data",
        [new("E75CAF8F-F680-4CEE-AFA3-B001E56EFC2D")] = "pooled storage",
        [new("0FC63DAF-8483-4772-8E79-3D69D8477DE4")] = "Linux",
        [new("0657FD6D-A4AB-43C4-84E5-0933C84B4F4F")] = "Linux swap",
        [new("E6D6D379-F507-44C2-A23C-238F2A3DF928")] = "Linux LVM",
        [new("A19D880F-05FC-4D3B-A006-743F0F84911E")] = "Linux RAID",
        [new("CA7D7CCB-63ED-4C53-861C-1742536059CC")] = "LUKS",
        [new("7C3457EF-0000-11AA-AA11-00306543ECAC")] = "APFS",
        [new("48465300-0000-11AA-AA11-00306543ECAC")] = "HFS+",
        [new("53746F72-6167-11AA-AA11-00306543ECAC")] = "CoreStorage",
    };
}
