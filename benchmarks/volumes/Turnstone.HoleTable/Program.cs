using System.Security.Cryptography;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes;

// How much of a volume comes out of a copy with random holes, and how much of that is true. Any script of tests/volumes:
//   HoleTable make-ntfs.sh [ARGUMENTS]
// whole    files that the listing gives with all bytes held, live and not guessed
// precise  share of these whose bytes have the manifest's digest under that path
// recall   share of the files that would be whole if no hole had hit the metadata (the skeleton) and that are whole all the same
if (args.Length == 0)
{
    Console.Error.WriteLine("usage: HoleTable SCRIPT [ARGUMENTS]   SCRIPT is a file of tests/volumes");
    return 2;
}

const int Seeds = 10;
OutsideVolume made = OutsideVolume.Make(args[0], args[1..]);
using ImageView image = made.Open();
ILookup<string, string> truth = made.Manifest.ToLookup(line => line.Path.Replace(':', '/'), line => line.Sha256);
ByteRange[] skeleton = [.. Disk.Read(image) is var disk ? disk.Skeleton.Concat(disk.Volumes.SelectMany(v => v.Skeleton())).OrderBy(r => r.Offset) : []];
long bones = skeleton.Sum(range => range.Length);
Console.WriteLine($"{string.Join(' ', args)}: {made.Manifest.Count(line => !line.Deleted)} live entries; skeleton {bones} of {image.Length} bytes ({100.0 * bones / image.Length:F2} %)");
Console.WriteLine("| holes | whole | right | precise | whole with the skeleton held | recall |");
Console.WriteLine("| --- | --- | --- | --- | --- | --- |");
foreach (double share in (double[])[0, 0.001, 0.01, 0.05, 0.1, 0.2, 0.3])
{
    int whole = 0, right = 0, possible = 0, reached = 0;
    for (int seed = 1; seed <= Seeds; seed++)
    {
        ByteRange[] holes = [.. Holes(share, seed)];
        Dictionary<string, string> got = Whole(new HoledView(image, holes)), best = Whole(new HoledView(image, holes.SelectMany(WithoutSkeleton)));
        whole += got.Count;
        right += got.Count(file => truth[file.Key].Contains(file.Value));
        possible += best.Count;
        reached += best.Count(file => got.TryGetValue(file.Key, out string? digest) && digest == file.Value);
    }

    Console.WriteLine($"| {share:P1} | {whole / (double)Seeds:F1} | {right / (double)Seeds:F1} | {Share(right, whole)} | {possible / (double)Seeds:F1} | {Share(reached, possible)} |");
}

return 0;

string Share(int part, int all) => all == 0 ? "-" : $"{100.0 * part / all:F2} %";

// Pieces of 1 to 64 sectors, as bursts of bad sectors and small scratches leave them.
IEnumerable<ByteRange> Holes(double share, int seed)
{
    var random = new Random(seed);
    for (long left = (long)(image.Length * share); left > 0;)
    {
        var hole = new ByteRange(random.NextInt64(image.Length / 512) * 512, random.Next(1, 65) * 512);
        left -= hole.Length;
        yield return hole;
    }
}

IEnumerable<ByteRange> WithoutSkeleton(ByteRange hole)
{
    long at = hole.Offset;
    foreach (ByteRange bone in skeleton.Where(bone => !bone.Intersect(hole).IsEmpty))
    {
        if (bone.Offset > at)
            yield return ByteRange.Between(at, bone.Offset);
        at = Math.Max(at, bone.End);
    }

    if (at < hole.End)
        yield return ByteRange.Between(at, hole.End);
}

Dictionary<string, string> Whole(ISectorView view)
{
    var files = new Dictionary<string, string>();
    foreach (Entry entry in Disk.Read(view).Volumes.SelectMany(volume => volume.Entries()))
    {
        if (!entry.Deleted && entry.Certainty != Certainty.Guessed && Digest(entry.Content, view) is { } digest)
            files[entry.Path.ToString().Replace(':', '/')] = digest;
    }

    return files;
}

static string? Digest(FileContent? content, ISectorView view)
{
    if (content is null || content.Missing(view).Any())
        return null;
    using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
    var buffer = new byte[1 << 16];
    for (long at = 0; at < content.Length; at += buffer.Length)
    {
        Span<byte> part = buffer.AsSpan(0, (int)Math.Min(buffer.Length, content.Length - at));
        if (!content.TryRead(view, at, part))
            return null;
        hash.AppendData(part);
    }

    return Convert.ToHexStringLower(hash.GetHashAndReset());
}
