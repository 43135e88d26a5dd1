using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.VolumeBench;

/// <summary>Recall and precision of live files through random holes in data and metadata alike.</summary>
/// <remarks>
/// A hole has 512 bytes to 128 KiB, sizes equally likely by doubling. 'Held': every byte of the file is held, whatever became of the
/// entries that lead to it. 'Whole': came out under its own path, complete, its place not a guess, with the manifest's digest.
/// 'Elsewhere': its bytes came out complete under another path or as a guess. 'Wrong': called complete and not a guess, but with other
/// bytes than the manifest has under that path, or bytes that no file of it has.
/// </remarks>
internal static class HoleTable
{
    private const int Runs = 5;
    private static readonly double[] s_shares = [0.001, 0.003, 0.01, 0.03, 0.1, 0.3];

    public static void Run(string script, string[] arguments)
    {
        OutsideVolume outside = OutsideVolume.Make(script, arguments);
        using ImageView image = outside.Open();
        string kinds = string.Join('+', Disk.Read(image).Volumes.Select(volume => volume.Facts.Kind).Distinct());
        foreach (double share in s_shares)
        {
            Tally[] runs = [.. Enumerable.Range(0, Runs).Select(seed => Count(outside, new HoledView(image, Holes(image.Length, new Random(seed), share))))];
            int held = runs.Sum(r => r.Held), whole = runs.Sum(r => r.Whole), elsewhere = runs.Sum(r => r.Elsewhere), wrong = runs.Sum(r => r.Wrong);
            Console.WriteLine($"| {kinds} | {share:P1} | {outside.LiveFiles.Count() * Runs} | {held} | {whole} | {elsewhere} | {wrong} | {Share(whole, held)} | {Share(whole + elsewhere, held)} | {Share(whole, whole + wrong)} |");
        }
    }

    private static string Share(int part, int all) => all == 0 ? "" : $"{100.0 * part / all:F1} %";

    private static IEnumerable<ByteRange> Holes(long length, Random random, double share)
    {
        for (long left = (long)(length * share); left > 0;)
        {
            long hole = 512L << random.Next(0, 9);
            yield return new ByteRange(random.NextInt64(length - hole), hole);
            left -= hole;
        }
    }

    private static Tally Count(OutsideVolume outside, HoledView view)
    {
        ManifestLine[] held = [.. outside.LiveFiles.Where(line => line.Proof == "bytes" && line.Extents.All(e => e.ImageOffset is not { } at || !view.Missing(new ByteRange(at, Math.Min(e.Length, line.Size - e.FileOffset))).Any()))];
        ILookup<string, ManifestLine> lines = outside.Manifest.ToLookup(line => line.Path);
        HashSet<string> known = [.. outside.Manifest.Select(line => line.Sha256)];
        var whole = new HashSet<string>();
        var digests = new HashSet<string>();
        int wrong = 0;
        foreach (Entry entry in Disk.Read(view).Volumes.SelectMany(volume => volume.Entries()).Where(e => e is { Deleted: false, Kind: EntryKind.File, Content: not null }))
        {
            if (EntryBytes.Digest(view, entry.Content!) is not { } digest)
                continue;
            string path = entry.Path.ToString();
            digests.Add(digest);
            if (entry.Certainty != Certainty.Guessed && lines[path].Any(line => line.Sha256 == digest))
                whole.Add(path);
            else if (entry.Certainty != Certainty.Guessed && (lines.Contains(path) || !known.Contains(digest)))
                wrong++;
        }

        return new Tally(held.Length, held.Count(line => whole.Contains(line.Path)), held.Count(line => !whole.Contains(line.Path) && digests.Contains(line.Sha256)), wrong);
    }

    private sealed record Tally(int Held, int Whole, int Elsewhere, int Wrong);
}
