namespace Turnstone.Handover;

/// <summary>Writes what RFC 8493 asks of a bag around a payload: manifests, tag files, tag manifests, and the declaration last.</summary>
/// <param name="bag">The bag's folder, which is there.</param>
internal sealed class BagWriter(string bag) : IDisposable
{
    private const string Sha256 = "manifest-sha256.txt", Sha512 = "manifest-sha512.txt";
    private readonly HashedFile _sha256 = new(Path.Combine(bag, Sha256)), _sha512 = new(Path.Combine(bag, Sha512));
    private readonly SortedDictionary<string, TwinDigest> _tags = new(StringComparer.Ordinal);

    /// <summary>Payload files so far.</summary>
    public long Files { get; private set; }

    /// <summary>Bytes in them.</summary>
    public long Bytes { get; private set; }

    /// <summary>Enters a payload file into both manifests.</summary>
    public void Enter(Written written)
    {
        string path = BagPath.Encode(written.Path);
        _sha256.Line($"{written.Digest.Sha256}  {path}");
        _sha512.Line($"{written.Digest.Sha512}  {path}");
        Files++;
        Bytes += written.Size;
    }

    /// <summary>Writes a tag file.</summary>
    public void Tag(string name, IEnumerable<string> lines) => Tag(name, WriteLines(name, lines));

    /// <summary>Enters a tag file that somebody else wrote.</summary>
    public void Tag(string name, TwinDigest digest) => _tags.Add(name, digest);

    /// <summary>Writes the tag manifests and, when everything else is on the medium, the declaration.</summary>
    /// <returns>Digests of the last tag manifest, which stands for the whole bag.</returns>
    public TwinDigest Close()
    {
        Tag(Sha256, _sha256.Finish());
        Tag(Sha512, _sha512.Finish());
        Tag(Declaration.Name, TwinDigest.Of(Declaration.Bytes));
        WriteLines("tagmanifest-sha256.txt", _tags.Select(tag => $"{tag.Value.Sha256}  {tag.Key}"));
        TwinDigest seal = WriteLines("tagmanifest-sha512.txt", _tags.Select(tag => $"{tag.Value.Sha512}  {tag.Key}"));

        // What bagit.txt vouches for must be on the medium before it is.
        DurableTarget.Sync(bag);
        File.WriteAllBytes(Path.Combine(bag, Declaration.Name), Declaration.Bytes);
        return seal;
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _sha256.Dispose();
        _sha512.Dispose();
    }

    private TwinDigest WriteLines(string name, IEnumerable<string> lines)
    {
        using var file = new HashedFile(Path.Combine(bag, name));
        foreach (string line in lines)
            file.Line(line);
        return file.Finish();
    }
}
