using System.Security.Cryptography;
using Turnstone.Bench;
using Turnstone.HoleTable;
using Turnstone.Media;
using Turnstone.Volumes;

// A table of how much comes out of a fixture volume through random holes over data and metadata alike.
// usage: HoleTable SCRIPT [ARGUMENTS]   for example: HoleTable make-ext.sh ext4
//   bytes held    live files all of whose own bytes are held, by the manifest: nobody can bring out more of them whole
//   called whole  entries with all bytes, at their path, of any certainty; 'guessed' of them are marked as guesses
//   right         of those that are not guesses: with the manifest's digest
if (args.Length == 0)
{
    Console.Error.WriteLine("usage: HoleTable SCRIPT [ARGUMENTS]");
    return 2;
}

const int Rounds = 10;
OutsideVolume outside = OutsideVolume.Make(args[0], args[1..]);
using ImageView image = outside.Open();
Console.WriteLine("| share of holes | live files | bytes held | called whole | guessed | recall | precision |");
Console.WriteLine("| --- | --- | --- | --- | --- | --- | --- |");
foreach (double share in (double[])[0.001, 0.003, 0.01, 0.03, 0.1, 0.3])
{
    var sum = new Tally(0, 0, 0, 0, 0, 0);
    for (int seed = 0; seed < Rounds; seed++)
        sum += Measure(outside, new HoledView(image, Holes(image.Length, share, new Random(seed))));
    Console.WriteLine($"| {share:P1} | {sum.Live} | {sum.Held} | {sum.Whole} | {sum.Guessed} | {(double)sum.Found / sum.Held:P1} | {(double)sum.Right / (sum.Whole - sum.Guessed):P2} |");
}

return 0;

static Tally Measure(OutsideVolume outside, ISectorView view)
{
    var live = outside.LiveFiles.ToDictionary(line => line.Path);
    HashSet<string> held = [.. live.Values.Where(line => !line.Extents.Any(e => e.ImageOffset is { } at && view.Missing(new ByteRange(at, e.Length)).Any())).Select(line => line.Path)];
    var sum = new Tally(live.Count, held.Count, 0, 0, 0, 0);
    foreach (Entry entry in Disk.Read(view).Volumes.SelectMany(volume => volume.Entries()).Where(e => e is { Deleted: false, Kind: EntryKind.File, Content: not null }))
    {
        if (entry.Content!.Missing(view).Any())
            continue;
        bool right = live.TryGetValue(entry.Path.ToString(), out ManifestLine? line) && line.Sha256 == Digest(view, entry.Content);
        bool guessed = entry.Certainty == Certainty.Guessed;
        sum += new Tally(0, 0, 1, guessed ? 1 : 0, right && held.Contains(entry.Path.ToString()) ? 1 : 0, right && !guessed ? 1 : 0);
    }

    return sum;
}

static string Digest(ISectorView view, FileContent content)
{
    using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
    var buffer = new byte[1 << 16];
    for (long at = 0; at < content.Length; at += buffer.Length)
    {
        Span<byte> part = buffer.AsSpan(0, (int)Math.Min(buffer.Length, content.Length - at));
        content.TryRead(view, at, part);
        hash.AppendData(part);
    }

    return Convert.ToHexStringLower(hash.GetHashAndReset());
}

static IEnumerable<ByteRange> Holes(long length, double share, Random random)
{
    // Single sectors to stretches of a few hundred, as a failing drive leaves them.
    for (long left = (long)(length * share); left > 0;)
    {
        long hole = 512L << random.Next(0, 9);
        yield return new ByteRange(random.NextInt64(length - hole), hole);
        left -= hole;
    }
}
