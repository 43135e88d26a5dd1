namespace Turnstone.Media;

/// <summary>Sizes that a source reports about itself.</summary>
/// <param name="Logical">The sector that is addressed.</param>
/// <param name="Physical">The sector that lies on the surface: one damaged physical sector takes all its logical ones along.</param>
/// <param name="Capacity">How many logical sectors there are.</param>
public sealed record Geometry(SectorSize Logical, SectorSize Physical, SectorCount Capacity)
{
    /// <summary>All sectors of the source.</summary>
    public SectorRange Whole => new(new Lba(0), Capacity);

    /// <summary>All bytes of the source.</summary>
    public ByteRange WholeBytes => Whole.Bytes(Logical);

    /// <summary>Logical sectors in one physical sector; 1 where the physical one is not the larger.</summary>
    public int LogicalPerPhysical => Math.Max(1, Physical.Bytes / Logical.Bytes);

    /// <summary>The range widened to whole physical sectors, cut at the end of the source.</summary>
    /// <remarks>Assumes that physical sector 0 starts at LBA 0 (IDENTIFY word 209 is 0).</remarks>
    public SectorRange Widen(SectorRange range)
    {
        long step = LogicalPerPhysical;
        long start = range.Start.Value / step * step;
        long end = Math.Min((range.End.Value + step - 1) / step * step, Capacity.Value);
        return SectorRange.Between(start, Math.Max(start, end));
    }
}
