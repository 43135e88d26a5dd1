using Turnstone.Patients.Chances;

namespace Turnstone.Patients.Layouts;

/// <summary>A run of addresses that lie in a row on the media, or nowhere.</summary>
/// <param name="First">First physical-sector-sized address.</param>
/// <param name="End">The address after the last.</param>
/// <param name="Media">The physical sector behind the first one; negative where nothing was ever written.</param>
internal readonly record struct MappedRun(long First, long End, long Media)
{
    public bool IsUnmapped => Media < 0;

    /// <summary>The physical sector after the one behind the last address.</summary>
    public long MediaEnd => Media + End - First;
}

/// <summary>From addresses to physical sectors where a shingled drive keeps a map of its own; sizes in physical sectors.</summary>
internal sealed class Translation
{
    private readonly MappedRun[] _runs, _byMedia;

    private Translation(List<MappedRun> runs, long capacity)
    {
        _runs = [.. runs];
        _byMedia = [.. runs.Where(r => !r.IsUnmapped).OrderBy(r => r.Media)];
        Capacity = capacity;
    }

    /// <summary>Addresses in all; the rest of the media is the cache.</summary>
    public long Capacity { get; }

    public IReadOnlyList<MappedRun> Runs => _runs;

    /// <summary>Draws a map: bands in place or shuffled, some unmapped, some with a piece in the cache at the outer edge.</summary>
    public static Translation Draw(ShingledSpec spec, long mediaSectors, int sectorBytes, ulong seed)
    {
        var chance = Chance.For(seed, "translation");
        long band = Math.Max(128, (long)(spec.BandMegabytes * 1e6 / sectorBytes));
        // One hundredth of the media is the cache; measured caches are some tens of gigabytes (Skylight, from memory).
        long cache = Math.Max(band, mediaSectors / 100);
        long bands = Math.Max(1, (mediaSectors - cache) / band);
        long[] places = [.. Enumerable.Range(0, (int)bands).Select(i => cache + (i * band))];
        if (spec.Dynamic)
            Shuffle(places, chance);
        var runs = new List<MappedRun>();
        long cacheNext = 0;
        for (int i = 0; i < places.Length; i++)
        {
            bool unmapped = chance.Happens(spec.UnmappedShare), rewritten = chance.Happens(spec.RewrittenShare);
            long piece = Math.Min(1L << (int)chance.Below(7), band - 2), at = 1 + chance.Below(band - piece - 1), first = i * band;
            if (unmapped)
                runs.Add(new MappedRun(first, first + band, -1));
            else if (rewritten && cacheNext + piece <= cache)
                AddRewritten(runs, first, band, places[i], at, piece, ref cacheNext);
            else
                runs.Add(new MappedRun(first, first + band, places[i]));
        }

        return new Translation(runs, bands * band);
    }

    /// <summary>Number of the run that an address lies in.</summary>
    public int RunAt(long address) => Ordered.FirstEndingAfter<MappedRun>(_runs, address, static r => r.End);

    /// <summary>The physical sector behind an address; null where nothing was ever written.</summary>
    public long? MediaAt(long address)
    {
        MappedRun run = _runs[RunAt(address)];
        return run.IsUnmapped ? null : run.Media + address - run.First;
    }

    /// <summary>The addresses that lie on physical sectors [first, end).</summary>
    public IEnumerable<(long First, long End)> AddressesOf(long first, long end)
    {
        int i = Ordered.FirstEndingAfter<MappedRun>(_byMedia, first, static r => r.MediaEnd);
        for (; i < _byMedia.Length && _byMedia[i].Media < end; i++)
        {
            MappedRun run = _byMedia[i];
            long from = Math.Max(first, run.Media), to = Math.Min(end, run.MediaEnd);
            yield return (run.First + from - run.Media, run.First + to - run.Media);
        }
    }

    private static void AddRewritten(List<MappedRun> runs, long first, long band, long media, long at, long piece, ref long cacheNext)
    {
        runs.Add(new MappedRun(first, first + at, media));
        runs.Add(new MappedRun(first + at, first + at + piece, cacheNext));
        runs.Add(new MappedRun(first + at + piece, first + band, media + at + piece));
        cacheNext += piece;
    }

    private static void Shuffle(long[] places, Chance chance)
    {
        for (int i = places.Length - 1; i > 0; i--)
        {
            int other = (int)chance.Below(i + 1);
            (places[i], places[other]) = (places[other], places[i]);
        }
    }
}
