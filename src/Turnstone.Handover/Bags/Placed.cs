using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>A finding with its place in the bag.</summary>
/// <param name="Finding">What was found.</param>
/// <param name="Path">Where it goes: 'data/whole/p1/letters/a.txt'; null where there is nothing to deliver.</param>
/// <param name="NotePath">Where the note of missing ranges goes; null for a file that is not holed.</param>
internal sealed record Placed(FileFinding Finding, string? Path, string? NotePath);

/// <summary>A payload file as it was written.</summary>
/// <param name="Path">Path in the bag.</param>
/// <param name="Size">Bytes.</param>
/// <param name="Digest">Of the bytes as written.</param>
internal sealed record Written(string Path, long Size, TwinDigest Digest);

/// <summary>What became of a finding in the bag.</summary>
/// <param name="Placed">The finding and its place.</param>
/// <param name="Files">The files written for it: its bytes first, then the note; none where only the name is known.</param>
internal sealed record Outcome(Placed Placed, IReadOnlyList<Written> Files);
