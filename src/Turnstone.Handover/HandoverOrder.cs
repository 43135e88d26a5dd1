using System.Text;

namespace Turnstone.Handover;

/// <summary>What is to be handed over, where to, and who hands it over.</summary>
/// <param name="Folder">The bag's folder; must not exist, be empty, or hold an unfinished hand-over of the same <see cref="SourceId"/>.</param>
public sealed record HandoverOrder(string Folder)
{
    /// <summary>The laboratory's name, or null.</summary>
    public string? Organization { get; init; }

    /// <summary>The laboratory's number for the case, or null.</summary>
    public string? Identifier { get; init; }

    /// <summary>What it is, in a sentence for the client, or null.</summary>
    public string? Description { get; init; }

    /// <summary>What tells the image from every other one (a read's own id); null where nothing does, and then an unfinished bag is never taken up.</summary>
    public string? SourceId { get; init; }

    /// <summary>What names and paths the receiving system can hold.</summary>
    public NameLimits Limits { get; init; } = NameLimits.Common;

    /// <summary>The clock that dates the bag.</summary>
    public TimeProvider Clock { get; init; } = TimeProvider.System;

    /// <summary>Equal for two starts of the same hand-over; empty where that cannot be told.</summary>
    internal string Fingerprint => SourceId is null ? "" : TwinDigest.Of(Encoding.UTF8.GetBytes($"{SourceId}\n{Limits}")).Sha256;
}

/// <summary>How far a hand-over has come.</summary>
/// <param name="Files">Payload files written, notes among them.</param>
/// <param name="Bytes">Bytes in them.</param>
/// <param name="Path">The last one, as a path in the bag.</param>
public readonly record struct HandoverProgress(long Files, long Bytes, string Path);

/// <summary>A finished bag.</summary>
/// <param name="Folder">Where it lies.</param>
/// <param name="Files">Payload files, notes among them.</param>
/// <param name="Bytes">Bytes in them.</param>
/// <param name="Delivered">Client's files by shelf ('whole', 'holed', ...), notes not counted.</param>
/// <param name="OnlyNamed">Entries of which nothing but the name could be delivered.</param>
/// <param name="SealSha512">Digest of tagmanifest-sha512.txt: it stands for the whole bag and can be printed on the delivery note.</param>
public sealed record HandoverResult(string Folder, long Files, long Bytes, IReadOnlyDictionary<string, long> Delivered, long OnlyNamed, string SealSha512);
