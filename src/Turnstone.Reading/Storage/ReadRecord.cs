using Turnstone.Media;

namespace Turnstone.Reading.Storage;

/// <summary>What a read folder says of its patient, so that another one is never read into it.</summary>
/// <param name="Source">Who the source was when the read began.</param>
/// <param name="Geometry">Its sizes then.</param>
public sealed record ReadRecord(SourceIdentity Source, Geometry Geometry)
{
    /// <summary>What speaks against going on with this source; empty when it looks like the same patient.</summary>
    /// <remarks>The address may differ: a drive comes back under another name. Model and serial number may not, where both sides have them.</remarks>
    public IReadOnlyList<string> Differences(SourceIdentity source, Geometry geometry)
    {
        var differences = new List<string>();
        Compare("capacity in sectors", Geometry.Capacity.ToString(), geometry.Capacity.ToString());
        Compare("logical sector size", Geometry.Logical.ToString(), geometry.Logical.ToString());
        Compare("model", Source.Model, source.Model);
        Compare("serial number", Source.Serial, source.Serial);
        return differences;

        void Compare(string what, string? then, string? now)
        {
            if (then is not null && now is not null && !string.Equals(then, now, StringComparison.Ordinal))
                differences.Add($"{what} was {then} and is {now}");
        }
    }
}
