using Turnstone.Media;
using Turnstone.Patients.Drives;
using Turnstone.Patients.Layouts;

namespace Turnstone.Patients;

/// <summary>A run of addresses and the head that they lie under; null where nothing was ever written.</summary>
public readonly record struct HeadRun(SectorRange Range, int? Head);

/// <summary>The ground truth of a simulated patient, against which a layout guess or a plan is scored.</summary>
public sealed class Truth
{
    private readonly Drive _drive;
    private readonly long _perPhysical, _capacity;

    internal Truth(Drive drive, Geometry geometry)
    {
        _drive = drive;
        _perPhysical = geometry.LogicalPerPhysical;
        _capacity = geometry.Capacity.Value;
    }

    /// <summary>Where physical sectors lie.</summary>
    public Layout Layout => _drive.Layout;

    /// <summary>Whether a head reads now.</summary>
    public bool IsDead(int head) => _drive.Condition.Heads[head].Dead;

    /// <summary>Whether the whole drive has stopped for good.</summary>
    public bool IsDriveDead => _drive.Condition.DriveDead;

    /// <summary>Wear of all heads together by their own work, retries and bad ground counted more; one unit is ten hours of plain work.</summary>
    public double Wear => _drive.Condition.Worked;

    /// <summary>The head that a sector lies under; null where nothing was ever written.</summary>
    public int? HeadOf(Lba lba) => Media(lba.Value / _perPhysical) is { } media ? Layout.Segments[Layout.SegmentAt(media)].Head : null;

    /// <summary>All addresses in order, with the head that each lies under.</summary>
    public IEnumerable<HeadRun> Heads()
    {
        foreach (MappedRun run in Runs())
        {
            for (long at = run.First; at < run.End;)
            {
                int? head = null;
                long end = run.End;
                if (!run.IsUnmapped)
                {
                    Segment segment = Layout.Segments[Layout.SegmentAt(run.Media + at - run.First)];
                    end = Math.Min(end, segment.End - run.Media + run.First);
                    head = segment.Head;
                }

                if (Logical(at, end) is { IsEmpty: false } range)
                    yield return new HeadRun(range, head);
                at = end;
            }
        }
    }

    /// <summary>Addresses that no way of asking brings back, in order: hard sectors, and all under a head that is dead now.</summary>
    public IEnumerable<SectorRange> Lost() => WithDead(_drive.Field.Hard(StartMargin));

    /// <summary>Addresses that may well refuse once, in order, those of <see cref="Lost"/> among them.</summary>
    public IEnumerable<SectorRange> Troubled() => WithDead(_drive.Field.Troubled(StartMargin));

    /// <summary>Addresses that return zeros because nothing was ever written there, within a range and in order.</summary>
    public IEnumerable<SectorRange> Unmapped(SectorRange within)
    {
        if (_drive.Map is not { } map)
            yield break;
        for (int i = map.RunAt(within.Start.Value / _perPhysical); i < map.Runs.Count && map.Runs[i].First * _perPhysical < within.End.Value; i++)
        {
            if (map.Runs[i].IsUnmapped && Logical(map.Runs[i].First, map.Runs[i].End).Intersect(within) is { IsEmpty: false } part)
                yield return part;
        }
    }

    /// <summary>Addresses that return wrong bytes, within a range, and whether those differ from read to read.</summary>
    public IEnumerable<(SectorRange Where, bool Changes)> Wrong(SectorRange within)
    {
        if (_drive.Field.Wrong.All.Count == 0)
            yield break;
        foreach (MappedRun run in Runs(within.Start.Value / _perPhysical, (within.End.Value + _perPhysical - 1) / _perPhysical))
        {
            if (run.IsUnmapped)
                continue;
            foreach (long media in _drive.Field.Wrong.In(run.Media, run.MediaEnd).ToArray())
            {
                long at = run.First + media - run.Media;
                if (Logical(at, at + 1).Intersect(within) is { IsEmpty: false } part)
                    yield return (part, _drive.Field.Wrong.Changes(Layout.Segments[Layout.SegmentAt(media)].Head));
            }
        }
    }

    private static IEnumerable<SectorRange> Joined(IEnumerable<SectorRange> ranges)
    {
        SectorRange last = default;
        foreach (SectorRange range in ranges.Where(r => !r.IsEmpty).OrderBy(r => r.Start))
        {
            if (!last.IsEmpty && range.Start <= last.End)
            {
                last = SectorRange.Between(last.Start, range.End > last.End ? range.End : last.End);
                continue;
            }

            if (!last.IsEmpty)
                yield return last;
            last = range;
        }

        if (!last.IsEmpty)
            yield return last;
    }

    private double StartMargin(int head) => _drive.Condition.MarginOf(head, 0);

    private IEnumerable<SectorRange> WithDead(IEnumerable<(long First, long End)> media)
    {
        IEnumerable<(long First, long End)> dead = Layout.Segments.Where(s => IsDead(s.Head)).Select(s => (s.First, s.End));
        return Joined(dead.Concat(media).SelectMany(r => Addresses(r.First, r.End)));
    }

    private IEnumerable<MappedRun> Runs() => Runs(0, long.MaxValue);

    /// <summary>The runs of the map inside [first, end), cut to it; one run where there is no map.</summary>
    private IEnumerable<MappedRun> Runs(long first, long end)
    {
        end = Math.Min(end, (_capacity + _perPhysical - 1) / _perPhysical);
        if (_drive.Map is not { } map)
        {
            yield return new MappedRun(first, end, first);
            yield break;
        }

        for (int i = map.RunAt(first); i < map.Runs.Count && map.Runs[i].First < end; i++)
        {
            MappedRun run = map.Runs[i];
            long from = Math.Max(first, run.First), to = Math.Min(end, run.End);
            yield return new MappedRun(from, to, run.IsUnmapped ? -1 : run.Media + from - run.First);
        }
    }

    /// <summary>The logical sectors behind media sectors, whatever the map makes of them.</summary>
    private IEnumerable<SectorRange> Addresses(long first, long end)
    {
        IEnumerable<(long First, long End)> addresses = _drive.Map is { } map ? map.AddressesOf(first, end) : [(first, end)];
        return addresses.Select(r => Logical(r.First, r.End));
    }

    private long? Media(long address) => _drive.Map is { } map ? map.MediaAt(address) : address;

    /// <summary>Logical sectors of addresses in physical sectors, cut at the capacity.</summary>
    private SectorRange Logical(long first, long end)
    {
        long from = Math.Min(_capacity, first * _perPhysical);
        return SectorRange.Between(from, Math.Max(from, Math.Min(_capacity, end * _perPhysical)));
    }
}
