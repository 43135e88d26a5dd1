using Turnstone.Media;

namespace Turnstone.Patients.Rehearsals.References;

/// <summary>All large blocks once; what failed in smaller blocks; what failed then by sector; what failed then again.</summary>
internal sealed class SweepThenFill : IStrategy
{
    private const int LastTries = 3;

    public string Name => "sweep";

    public string Description => "all 1 MiB blocks once, what failed in 64 KiB blocks, then by sector, then three more tries at each";

    public void Run(Bedside bed)
    {
        int silences = 0;
        IEnumerable<SectorRange> left = [bed.Geometry.Whole];
        foreach (int bytes in (int[])[Asking.LargeBytes, Asking.SmallBytes, bed.Geometry.Physical.Bytes])
            left = Pass(bed, left, bytes, ref silences);
        for (int i = 0; i < LastTries; i++)
            left = Pass(bed, left, bed.Geometry.Physical.Bytes, ref silences);
    }

    private static List<SectorRange> Pass(Bedside bed, IEnumerable<SectorRange> ranges, int bytes, ref int silences)
    {
        var failed = new List<SectorRange>();
        foreach (SectorRange block in ranges.SelectMany(range => Asking.Blocks(range, bytes, bed.Geometry)))
        {
            if (bed.IsOver)
                break;
            if (!Asking.Of(bed, block, ref silences).IsGiven)
                failed.Add(block);
        }

        return failed;
    }
}
