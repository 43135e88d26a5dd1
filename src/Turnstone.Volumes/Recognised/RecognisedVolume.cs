using Turnstone.Media;

namespace Turnstone.Volumes.Recognised;

/// <summary>What the main structure of a kind that is not read here tells.</summary>
/// <param name="Kind">The kind in the field's own term.</param>
internal sealed record Recognition(string Kind)
{
    /// <summary>Bytes that it says it takes; 0 where it does not say.</summary>
    public long Bytes { get; init; }

    public string? Label { get; init; }

    public string? Id { get; init; }

    public int ClusterBytes { get; init; }

    public Origin Origin { get; init; }

    /// <summary>Sure where a second structure at a computed place agrees.</summary>
    public Certainty Certainty { get; init; } = Certainty.Likely;

    /// <summary>Bytes of the volume without which nothing else helps: headers, key areas.</summary>
    public IReadOnlyList<ByteRange> Skeleton { get; init; } = [];

    public IReadOnlyList<string> Notes { get; init; } = [];
}

/// <summary>A volume that is named and sized, but whose entries are not read here.</summary>
internal sealed class RecognisedVolume(PartView part, string name, Recognition found) : Volume
{
    /// <inheritdoc/>
    public override bool IsReadable => false;

    /// <inheritdoc/>
    public override VolumeFacts Facts { get; } = new()
    {
        Name = name,
        Kind = found.Kind,
        Place = new ByteRange(part.Part.Offset, found.Bytes > 0 && found.Bytes <= long.MaxValue - part.Part.Offset ? found.Bytes : part.Length),
        Label = string.IsNullOrEmpty(found.Label) ? null : found.Label,
        Id = found.Id,
        ClusterBytes = found.ClusterBytes,
        Origin = found.Origin,
        Certainty = found.Certainty,
        Notes = [.. found.Notes, "its files are not read here"],
    };

    /// <inheritdoc/>
    public override IEnumerable<Entry> Entries() => [];

    /// <inheritdoc/>
    public override IEnumerable<ByteRange> Skeleton() =>
        from range in found.Skeleton
        let inside = range.Intersect(new ByteRange(0, part.Length))
        where !inside.IsEmpty
        select new ByteRange(part.Part.Offset + inside.Offset, inside.Length);

    /// <inheritdoc/>
    public override IEnumerable<UsageRun> Usage() => [];
}
