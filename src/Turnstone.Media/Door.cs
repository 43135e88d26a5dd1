namespace Turnstone.Media;

/// <summary>What every source does at its door: checks before it asks, and the form of a refusal.</summary>
internal static class Door
{
    /// <summary>The buffer cut to the range.</summary>
    /// <exception cref="ArgumentException">The range is empty or outside the capacity, or the buffer is too short.</exception>
    public static Memory<byte> Check(IBlockSource source, SectorRange range, Memory<byte> into)
    {
        if (range.IsEmpty || range.End.Value > source.Geometry.Capacity.Value)
            throw new ArgumentException($"sectors {range} are none of the source's {source.Geometry.Capacity}", nameof(range));
        long bytes = range.Count.Bytes(source.Geometry.Logical);
        if (bytes > into.Length)
            throw new ArgumentException($"{bytes} bytes don't fit into {into.Length}", nameof(into));
        return into[..(int)bytes];
    }

    /// <summary>A refusal of a read that broke off after some bytes.</summary>
    /// <remarks>Only what came whole before the error is known good; the sector that was next may be bad, or any after it.</remarks>
    public static ReadOutcome.Refused Refuse(IBlockSource source, SectorRange range, long start, RefusalCause cause, int got)
    {
        int sector = source.Geometry.Logical.Bytes;
        return new ReadOutcome.Refused(cause, got >= sector ? range.Start + new SectorCount(got / sector) : null)
        {
            Asked = range,
            Took = System.Diagnostics.Stopwatch.GetElapsedTime(start),
        };
    }
}
