using Turnstone.Media;

namespace Turnstone.Patients.Faults;

/// <summary>A source that refuses chosen sectors and passes every other read on. The same wrapper serves a rehearsal and a test.</summary>
/// <remarks>
/// A read meets the first fault that it touches and has not yet given in; each read counts as one ask of every fault that
/// it touches. Time is spent on the source's own clock: really waited for, or on virtual time.
/// </remarks>
public sealed class RefusingSource : IBlockSource
{
    private readonly IBlockSource _inner;
    private readonly Fault[] _faults;
    private readonly int[] _asks;

    /// <summary>Wraps a source and owns it from now on.</summary>
    /// <param name="inner">What answers elsewhere.</param>
    /// <param name="faults">The faults, in any order, none overlapping another.</param>
    /// <exception cref="ArgumentException">Two faults overlap.</exception>
    public RefusingSource(IBlockSource inner, IEnumerable<Fault> faults)
    {
        _inner = inner;
        _faults = [.. faults.Where(f => !f.Where.IsEmpty).OrderBy(f => f.Where.Start)];
        _asks = new int[_faults.Length];
        for (int i = 1; i < _faults.Length; i++)
        {
            if (_faults[i].Where.Start < _faults[i - 1].Where.End)
                throw new ArgumentException($"faults {_faults[i - 1].Where} and {_faults[i].Where} overlap", nameof(faults));
        }
    }

    /// <summary>Wraps a source that refuses whole ranges for one cause.</summary>
    public RefusingSource(IBlockSource inner, RefusalCause cause, params IEnumerable<SectorRange> where)
        : this(inner, where.Select(range => new Fault(range) { Cause = cause }))
    {
    }

    /// <inheritdoc/>
    public SourceIdentity Identity => _inner.Identity;

    /// <inheritdoc/>
    public Geometry Geometry => _inner.Geometry;

    /// <inheritdoc/>
    public TimeProvider Clock => _inner.Clock;

    /// <inheritdoc/>
    public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        Fault? met = null;
        for (int i = Ordered.FirstEndingAfter<Fault>(_faults, range.Start.Value, static f => f.Where.End.Value); i < _faults.Length && _faults[i].Where.Start < range.End; i++)
        {
            _asks[i]++;
            if (!(_asks[i] >= _faults[i].GivesInOnAsk))
                met ??= _faults[i];
        }

        return met is null ? _inner.Read(range, into, limit) : Refuse(met, range, limit);
    }

    /// <inheritdoc/>
    public void Dispose() => _inner.Dispose();

    private ReadOutcome Refuse(Fault fault, SectorRange range, TimeSpan limit)
    {
        bool answers = fault.Cause != RefusalCause.Silence;
        TimeSpan? wait = Waiting.Cut(answers ? fault.Takes : Timeout.InfiniteTimeSpan, limit);
        TimeSpan took = Waiting.On(Clock, wait ?? fault.Takes);
        if (wait is not null)
            return new ReadOutcome.Silent { Asked = range, Took = took };
        Lba? first = fault.NamesFirstBad ? fault.Where.Intersect(range).Start : null;
        return new ReadOutcome.Refused(fault.Cause, first) { Asked = range, Took = took };
    }
}
