using System.Diagnostics;

namespace Turnstone.Media;

/// <summary>Gives a time limit to a source whose requests cannot be given up: each read waits on a thread of its own.</summary>
/// <remarks>
/// A dying drive can hold a thread in the kernel for minutes. The caller gets <see cref="ReadOutcome.Silent"/> at the
/// limit; the request goes on below. While it does, further reads wait for it first, up to their own limit, because a
/// drive that has not answered one question is not asked a second.
/// </remarks>
public sealed class LimitedSource : IBlockSource
{
    private readonly IBlockSource _inner;
    private readonly SemaphoreSlim _asked = new(0), _idle = new(1);
    private readonly Thread _thread;
    private volatile Request? _next;
    private volatile bool _closing;

    /// <summary>Wraps a source and owns it from now on.</summary>
    public LimitedSource(IBlockSource inner)
    {
        _inner = inner;
        _thread = new Thread(Serve) { IsBackground = true, Name = "patient" };
        _thread.Start();
    }

    /// <inheritdoc/>
    public SourceIdentity Identity => _inner.Identity;

    /// <inheritdoc/>
    public Geometry Geometry => _inner.Geometry;

    /// <inheritdoc/>
    public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        ObjectDisposedException.ThrowIf(_closing, this);
        into = Door.Check(this, range, into);
        long start = Stopwatch.GetTimestamp();
        if (!_idle.Wait(limit))
            return Silent(range, start, notSent: true);

        var request = new Request(range, into);
        _next = request;
        _asked.Release();
        TimeSpan left = limit == Timeout.InfiniteTimeSpan ? limit : Positive(limit - Stopwatch.GetElapsedTime(start));
        if (!request.Answered.Wait(left))
            return Silent(range, start, notSent: false);
        return request.Outcome ?? throw new InvalidOperationException("the source failed in a way of its own", request.Failure);
    }

    /// <summary>Closes the source. A request that is still out keeps it open until its answer comes or the process ends.</summary>
    public void Dispose()
    {
        if (_closing)
            return;
        _closing = true;
        _asked.Release();
        _thread.Join(TimeSpan.FromSeconds(1));
    }

    private static TimeSpan Positive(TimeSpan time) => time < TimeSpan.Zero ? TimeSpan.Zero : time;

    private static ReadOutcome.Silent Silent(SectorRange range, long start, bool notSent) =>
        new(notSent) { Asked = range, Took = Stopwatch.GetElapsedTime(start) };

    private void Serve()
    {
        using IBlockSource inner = _inner;
        while (true)
        {
            _asked.Wait();
            if (_closing)
                return;
            Request request = _next!;
            request.Run(inner);
            _idle.Release();
            request.Answered.Set();
        }
    }

    private sealed class Request(SectorRange range, Memory<byte> into)
    {
        public ManualResetEventSlim Answered { get; } = new();

        public ReadOutcome? Outcome { get; private set; }

        public Exception? Failure { get; private set; }

        public void Run(IBlockSource source)
        {
            try
            {
                Outcome = source.Read(range, into, Timeout.InfiniteTimeSpan);
            }
#pragma warning disable CA1031 // whatever it is, the asking thread has to hear of it
            catch (Exception e)
#pragma warning restore CA1031
            {
                Failure = e;
            }
        }
    }
}
