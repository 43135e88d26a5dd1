using Turnstone.Media;
using Turnstone.Reading.Map;

namespace Turnstone.Reading.Recording;

/// <summary>A mark that is true already and not yet durable.</summary>
internal readonly record struct Change(SectorRange Range, MapMark Mark);

/// <summary>What one checkpoint makes durable: changes in the order in which they came, and whole MiBs' digests.</summary>
internal sealed class Batch
{
    public List<Change> Changes { get; } = [];

    /// <summary>Digests of MiBs that came in one piece.</summary>
    public Dictionary<long, byte[]> Digests { get; } = [];

    /// <summary>MiBs of which a part came: their digest is made anew from the image.</summary>
    public HashSet<long> TouchedMibs { get; } = [];

    /// <summary>Bytes that were written for it.</summary>
    public long Bytes { get; set; }

    public bool IsEmpty => Changes.Count == 0;

    public void Add(Change change)
    {
        if (Changes.Count > 0 && Changes[^1] is var last && last.Mark == change.Mark && last.Range.End == change.Range.Start)
            Changes[^1] = new Change(SectorRange.Between(last.Range.Start, change.Range.End), change.Mark);
        else
            Changes.Add(change);
    }
}
