using Turnstone.Media;

namespace Turnstone.Patients.Rehearsals.References;

/// <summary>Front to back; a block that fails is left with a fixed stretch behind it, and what was left is asked once more at the end.</summary>
internal sealed class LinearWithSkip : IStrategy
{
    private const long SkipBytes = 16 << 20;

    public string Name => "skip";

    public string Description => "front to back in 1 MiB blocks, leaving 16 MiB at each failure; then what was left, in 64 KiB blocks, once";

    public void Run(Bedside bed)
    {
        int silences = 0;
        List<SectorRange> left = First(bed, ref silences);
        foreach (SectorRange block in left.SelectMany(range => Asking.Blocks(range, Asking.SmallBytes, bed.Geometry)))
        {
            if (bed.IsOver)
                return;
            Asking.Of(bed, block, ref silences);
        }
    }

    private static List<SectorRange> First(Bedside bed, ref int silences)
    {
        var left = new List<SectorRange>();
        long size = bed.Geometry.Logical.Bytes, block = Asking.LargeBytes / size, capacity = bed.Geometry.Capacity.Value;
        for (long at = 0; at < capacity && !bed.IsOver;)
        {
            long end = Math.Min(capacity, at + block);
            if (!Asking.Of(bed, SectorRange.Between(at, end), ref silences).IsGiven)
            {
                end = Math.Min(capacity, at + (SkipBytes / size));
                left.Add(SectorRange.Between(at, end));
            }

            at = end;
        }

        return left;
    }
}
