using Turnstone.Media;

namespace Turnstone.Patients.Rehearsals.References;

/// <summary>Front to back; a block that fails is read sector by sector, each with its retries, before going on.</summary>
internal sealed class LinearWithRetries : IStrategy
{
    private const int Tries = 3;

    public string Name => "linear";

    public string Description => "front to back in 1 MiB blocks; a failing block sector by sector, three tries each, before going on";

    public void Run(Bedside bed)
    {
        int silences = 0;
        foreach (SectorRange block in Asking.Blocks(bed.Geometry.Whole, Asking.LargeBytes, bed.Geometry))
        {
            if (bed.IsOver)
                return;
            if (!Asking.Of(bed, block, ref silences).IsGiven)
                Insist(bed, block, ref silences);
        }
    }

    private static void Insist(Bedside bed, SectorRange block, ref int silences)
    {
        foreach (SectorRange sector in Asking.Blocks(block, bed.Geometry.Physical.Bytes, bed.Geometry))
        {
            for (int i = 0; i < Tries && !bed.IsOver; i++)
            {
                if (Asking.Of(bed, sector, ref silences).IsGiven)
                    break;
            }
        }
    }
}
