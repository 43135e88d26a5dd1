using Turnstone.Patients.Chances;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Rehearsals;

/// <summary>What a stretch of a drive is to its owner.</summary>
public enum Worth
{
    /// <summary>Free, or nothing that could be brought back.</summary>
    Nothing,

    /// <summary>A file that nobody asked for by name.</summary>
    Other,

    /// <summary>A file that the client wishes for most.</summary>
    Wished,

    /// <summary>The file system's own: without it nobody knows where files lie.</summary>
    Skeleton,
}

/// <summary>A stretch of addresses, in physical sectors, and what it is.</summary>
/// <param name="First">First address.</param>
/// <param name="End">The address after the last.</param>
/// <param name="Worth">What it is.</param>
/// <param name="File">Which file, from 0; -1 for none.</param>
internal readonly record struct PlanRun(long First, long End, Worth Worth, int File);

/// <summary>Where invented files lie on a drive: a skeleton in three places, folders of files with gaps, some files in pieces.</summary>
internal sealed class FilePlan
{
    private const int FilesPerFolder = 40, MostFiles = 50_000;

    private readonly FilesSpec _spec;
    private readonly long _capacity;
    private readonly int _sectorBytes;
    private readonly Chance _chance;

    private FilePlan(FilesSpec spec, long capacity, int sectorBytes, ulong seed) =>
        (_spec, _capacity, _sectorBytes, _chance) = (spec, capacity, sectorBytes, Chance.For(seed, "files"));

    /// <summary>Draws the plan: runs in address order, none overlapping; what is between them is free.</summary>
    public static List<PlanRun> Draw(FilesSpec spec, long capacity, int sectorBytes, ulong seed)
    {
        var plan = new FilePlan(spec, capacity, sectorBytes, seed);
        return plan.Lay(plan.Skeleton(), plan.Pieces());
    }

    private List<PlanRun> Skeleton()
    {
        long all = (long)(_capacity * _spec.SkeletonShare);
        // The start of the volume, the file table, and a copy in the middle.
        (double At, double Share)[] places = [(0, 0.1), (0.3, 0.8), (0.5, 0.1)];
        return [.. places.Select(p => new PlanRun((long)(_capacity * p.At), (long)(_capacity * p.At) + (long)(all * p.Share), Worth.Skeleton, -1)).Where(r => r.First < r.End)];
    }

    private List<(long Length, Worth Worth, int File)> Pieces()
    {
        double allocated = _capacity * _spec.AllocatedShare, mean = Math.Max(1, _spec.MeanFileMegabytes * 1e6 / _sectorBytes);
        int files = (int)Math.Clamp(allocated / mean, 1, MostFiles);
        if (allocated < 1)
            return [];
        // Log-normal with a deviation of 1.2 (an assumption), scaled so that the files take their share exactly.
        double[] sizes = [.. Enumerable.Range(0, files).Select(_ => Math.Exp(1.2 * _chance.Normal()))];
        double scale = allocated / sizes.Sum();
        HashSet<int> wished = WishedFolders((files + FilesPerFolder - 1) / FilesPerFolder);
        var pieces = new List<(long Length, Worth Worth, int File)>();
        var moved = new List<(long Length, Worth Worth, int File)>();
        for (int file = 0; file < files; file++)
        {
            long size = Math.Max(1, (long)(sizes[file] * scale));
            int parts = _chance.Happens(_spec.FragmentedShare) ? (int)Math.Min(size, 2 + _chance.Below(5)) : 1;
            Worth worth = wished.Contains(file / FilesPerFolder) ? Worth.Wished : Worth.Other;
            pieces.Add((size - (size / parts * (parts - 1)), worth, file));
            for (int part = 1; part < parts; part++)
                moved.Add((size / parts, worth, file));
        }

        return Mix(pieces, moved);
    }

    private HashSet<int> WishedFolders(int folders)
    {
        int wanted = _spec.WishedShare > 0 ? Math.Max(1, (int)Math.Round(folders * _spec.WishedShare)) : 0;
        var wished = new HashSet<int>();
        while (wished.Count < wanted)
            wished.Add((int)_chance.Below(folders));
        return wished;
    }

    /// <summary>Puts the later pieces of files anywhere between the first ones.</summary>
    private List<(long Length, Worth Worth, int File)> Mix(List<(long, Worth, int)> pieces, List<(long, Worth, int)> moved)
    {
        var places = pieces.Select((piece, i) => (Key: (double)i, piece)).Concat(moved.Select(piece => (Key: _chance.Unit() * pieces.Count, piece)));
        return [.. places.OrderBy(p => p.Key).Select(p => p.piece)];
    }

    private List<PlanRun> Lay(List<PlanRun> skeleton, List<(long Length, Worth Worth, int File)> pieces)
    {
        long free = _capacity - skeleton.Sum(s => s.End - s.First) - pieces.Sum(p => p.Length);
        double gap = Math.Max(0, free) / (double)Math.Max(1, pieces.Count);
        var runs = new List<PlanRun>();
        var fixedRuns = new Queue<PlanRun>(skeleton);
        double at = 0;
        foreach ((long length, Worth worth, int file) in pieces)
        {
            at += gap * 0.999 * 2 * _chance.Unit();
            long left = length, from = (long)at;
            while (left > 0 && from < _capacity)
            {
                while (fixedRuns.TryPeek(out PlanRun passed) && passed.First <= from)
                {
                    runs.Add(fixedRuns.Dequeue());
                    from = Math.Max(from, passed.End);
                }

                long most = fixedRuns.TryPeek(out PlanRun next) ? next.First : _capacity, take = Math.Min(left, most - from);
                runs.Add(new PlanRun(from, from + take, worth, file));
                (from, left) = (from + take, left - take);
            }

            at = from;
        }

        runs.AddRange(fixedRuns);
        return runs;
    }
}
