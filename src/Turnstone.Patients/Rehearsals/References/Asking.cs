using Turnstone.Media;

namespace Turnstone.Patients.Rehearsals.References;

/// <summary>What the reference strategies have in common: a limit, and power cycles when a drive has gone silent.</summary>
internal static class Asking
{
    /// <summary>Block of a large read: 1 MiB.</summary>
    public const int LargeBytes = 1 << 20;

    /// <summary>Block of a smaller read: 64 KiB.</summary>
    public const int SmallBytes = 1 << 16;

    /// <summary>Longest wait for an answer, as a host usually has it.</summary>
    public static TimeSpan Limit { get; } = TimeSpan.FromSeconds(30);

    // So often does a technician go to the switch.
    private const int MostPowerCycles = 50;

    /// <summary>Asks for a range; after two silences in a row the power is cut, as often as a technician would.</summary>
    public static Answer Of(Bedside bed, SectorRange range, ref int silences)
    {
        Answer answer = bed.Ask(range, Limit);
        silences = answer.Kind == AnswerKind.Silent ? silences + 1 : 0;
        if (silences >= 2 && bed.PowerCycles < MostPowerCycles)
        {
            bed.CyclePower();
            silences = 0;
        }

        return answer;
    }

    /// <summary>A range in blocks of so many bytes, which start at multiples of the block.</summary>
    public static IEnumerable<SectorRange> Blocks(SectorRange range, int bytes, Geometry geometry)
    {
        long step = Math.Max(1, bytes / geometry.Logical.Bytes);
        for (long at = range.Start.Value; at < range.End.Value;)
        {
            long end = Math.Min(range.End.Value, ((at / step) + 1) * step);
            yield return SectorRange.Between(at, end);
            at = end;
        }
    }
}
