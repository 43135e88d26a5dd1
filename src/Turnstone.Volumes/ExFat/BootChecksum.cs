using System.Buffers.Binary;
using System.Numerics;
using Turnstone.Media;

namespace Turnstone.Volumes.ExFat;

/// <summary>The sum that guards the first eleven sectors of a boot region and fills the twelfth.</summary>
/// <remarks>Microsoft, exFAT file system specification, section 3.4. The up-case table uses the same sum (section 7.2.2).</remarks>
internal static class BootChecksum
{
    private const int VolumeFlags = 106, PercentInUse = 112;

    /// <summary>Adds bytes to a sum that starts at 0.</summary>
    public static uint Add(uint sum, ReadOnlySpan<byte> bytes)
    {
        foreach (byte b in bytes)
            sum = BitOperations.RotateRight(sum, 1) + b;
        return sum;
    }

    /// <summary>The sum over the first eleven sectors of a boot region.</summary>
    public static uint Of(ReadOnlySpan<byte> sectors)
    {
        uint sum = Add(0, sectors[..VolumeFlags]);
        sum = Add(sum, sectors[(VolumeFlags + 2)..PercentInUse]);
        return Add(sum, sectors[(PercentInUse + 1)..]);
    }

    /// <summary>Whether the region at an offset carries the right sum.</summary>
    public static Parsed<bool> Check(ISectorView volume, long offset, int sectorBytes) =>
        volume.Parse<bool>(offset, sectorBytes * ExFatBootSector.BootSectors, region =>
        {
            int guarded = sectorBytes * (ExFatBootSector.BootSectors - 1);
            return new Parsed<bool>.Value(BinaryPrimitives.ReadUInt32LittleEndian(region[guarded..]) == Of(region[..guarded]));
        });
}
