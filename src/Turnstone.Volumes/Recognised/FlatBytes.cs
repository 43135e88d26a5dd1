using Turnstone.Media;

namespace Turnstone.Volumes.Recognised;

/// <summary>Whether a part of a disk looks encrypted as a whole: every byte value equally common everywhere, and no structure.</summary>
/// <remarks>
/// Pearson's chi-squared test of the byte counts against equal ones, 255 degrees of freedom. Compressed media are close to
/// flat in a page, but not over a megabyte; the two bounds are each five standard deviations (about 22.6) from the mean.
/// </remarks>
internal static class FlatBytes
{
    private const int Page = 4096, Samples = 256, FewestSamples = 64, FrontPages = 4;
    private const double Lowest = 255 - (5 * 22.6), Highest = 255 + (5 * 22.6);

    private const string WhatItMeans = "no structure, and every byte value is equally common: it looks encrypted as a whole. "
        + "On a portable drive this usually means that the bridge board encrypts: the original board is needed. Else the client has a program and a password for it.";

    /// <summary>A volume that only says so; none where there is structure or too little is held to tell.</summary>
    public static IReadOnlyList<Volume> Open(PartView part, string name) =>
        Looks(part) ? [new RecognisedVolume(part, name, new Recognition("encrypted?") { Certainty = Certainty.Guessed, Notes = [WhatItMeans] })] : [];

    private static bool Looks(PartView part)
    {
        var counts = new long[256];
        int taken = 0;
        var page = new byte[Page];
        foreach (long at in Places(part.Length))
        {
            bool isFront = at < FrontPages * Page;
            if (!part.TryRead(at, page))
            {
                if (isFront)
                    return false;
                continue;
            }

            // Pages of one byte were never written; at the front something always was.
            if (page.AsSpan().IndexOfAnyExcept(page[0]) < 0)
            {
                if (isFront)
                    return false;
                continue;
            }

            taken++;
            foreach (byte b in page)
                counts[b]++;
        }

        return taken >= FewestSamples && ChiSquared(counts) is > Lowest and < Highest;
    }

    private static IEnumerable<long> Places(long length)
    {
        for (int i = 0; i < FrontPages && (i + 1L) * Page <= length; i++)
            yield return (long)i * Page;
        long step = Math.Max(Page, length / Samples / Page * Page);
        for (long at = Math.Max(step, FrontPages * Page); at + Page <= length; at += step)
            yield return at;
    }

    private static double ChiSquared(long[] counts)
    {
        double expected = counts.Sum() / 256.0;
        return counts.Sum(count => (count - expected) * (count - expected) / expected);
    }
}
