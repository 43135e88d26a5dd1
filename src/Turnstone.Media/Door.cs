namespace Turnstone.Media;

/// <summary>The checks that every source makes before it asks anything.</summary>
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
}
