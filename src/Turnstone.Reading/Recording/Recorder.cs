using System.Collections.Concurrent;
using System.Security.Cryptography;
using Turnstone.Media;
using Turnstone.Reading.Map;
using Turnstone.Reading.Storage;

namespace Turnstone.Reading.Recording;

/// <summary>Carries answers from memory to a durable image and map, while the patient is asked the next question.</summary>
/// <remarks>
/// Three threads after the asking one: bytes are written, whole MiBs are digested, and every second or every
/// <see cref="BytesBetween"/> a checkpoint makes both durable. Never more than <see cref="BytesAhead"/> bytes are ahead of
/// the durable map: that is the most that a killed process asks for again. A refusal that cost the drive time is made
/// durable at once. What goes wrong on a thread is thrown at the next call from outside.
/// </remarks>
internal sealed class Recorder : IDisposable
{
    public const int BlockBytes = Checkpoint.MibBytes;
    public const long BytesAhead = 64L << 20, BytesBetween = BytesAhead / 2;
    private const int Buffers = 16;
    private static readonly TimeSpan BetweenCheckpoints = TimeSpan.FromSeconds(1), CostlyRefusal = TimeSpan.FromMilliseconds(50);

    private readonly ReadFolder _folder;
    private readonly SectorSize _sector;
    private readonly BlockingCollection<SectorBuffer> _free = [];
    private readonly BlockingCollection<Piece> _toWrite = [], _toDigest = [];
    private readonly AutoResetEvent _checkpointWanted = new(false);
    private readonly Thread[] _threads;
    private readonly Lock _lock = new();
    private readonly ManualResetEventSlim _moved = new();
    private Batch _batch = new();
    private long _ahead, _inFlight;
    private volatile Exception? _failure;
    private volatile bool _closing;

    public Recorder(ReadFolder folder)
    {
        _folder = folder;
        _sector = folder.Record.Geometry.Logical;
        for (int i = 0; i < Buffers; i++)
            _free.Add(new SectorBuffer(BlockBytes));
        _threads = [Start("write", Write), Start("digest", Digest), Start("checkpoint", Checkpoints)];
    }

    /// <summary>A buffer for the next question; waits while too much is ahead of the durable map.</summary>
    public SectorBuffer Rent()
    {
        while (Interlocked.Read(ref _ahead) >= BytesAhead)
            Await();
        ThrowIfFailed();
        return _free.Take();
    }

    /// <summary>Gives a buffer back that got no bytes.</summary>
    public void Return(SectorBuffer buffer) => _free.Add(buffer);

    /// <summary>Replaces a buffer that a silent source may still write to.</summary>
    public void Forget() => _free.Add(new SectorBuffer(BlockBytes));

    /// <summary>Takes bytes that came; the buffer is the recorder's from now on.</summary>
    public void Held(SectorRange range, SectorBuffer buffer)
    {
        Interlocked.Add(ref _ahead, range.Count.Bytes(_sector));
        Interlocked.Increment(ref _inFlight);
        _toWrite.Add(new Piece(range, buffer));
    }

    /// <summary>Takes a mark other than held.</summary>
    /// <param name="range">Which sectors.</param>
    /// <param name="mark">What is true of them.</param>
    /// <param name="cost">How long the patient was busy with it.</param>
    public void Mark(SectorRange range, MapMark mark, TimeSpan cost)
    {
        _folder.Map.Set(range, mark);
        lock (_lock)
            _batch.Add(new Change(range, mark));
        if (cost >= CostlyRefusal)
            _checkpointWanted.Set();
    }

    /// <summary>Returns when all that was handed in shows in the map.</summary>
    public void Settle()
    {
        while (Interlocked.Read(ref _inFlight) > 0)
            Await();
        ThrowIfFailed();
    }

    /// <summary>Makes everything durable and ends. Throws what went wrong on the way.</summary>
    public void Finish()
    {
        Settle();
        _closing = true;
        _toWrite.CompleteAdding();
        _toDigest.CompleteAdding();
        _checkpointWanted.Set();
        foreach (Thread thread in _threads)
            thread.Join();
        ThrowIfFailed();
    }

    /// <summary>Ends without promising anything about what is not durable yet.</summary>
    public void Dispose()
    {
        _closing = true;
        _toWrite.CompleteAdding();
        _toDigest.CompleteAdding();
        _checkpointWanted.Set();
        foreach (Thread thread in _threads)
            thread.Join();
        while (_free.TryTake(out SectorBuffer? buffer))
            ((IDisposable)buffer).Dispose();
    }

    private void Write()
    {
        foreach (Piece piece in _toWrite.GetConsumingEnumerable())
        {
            _folder.Image.Write(piece.Range.Start.ByteOffset(_sector), piece.Bytes(_sector));
            _folder.Map.Set(piece.Range, MapMark.Held);
            if (IsWholeMib(piece.Range))
                _toDigest.Add(piece);
            else
                Record(piece, digest: null);
        }
    }

    private void Digest()
    {
        foreach (Piece piece in _toDigest.GetConsumingEnumerable())
            Record(piece, SHA256.HashData(piece.Bytes(_sector)));
    }

    private void Record(Piece piece, byte[]? digest)
    {
        ByteRange bytes = piece.Range.Bytes(_sector);
        bool full;
        lock (_lock)
        {
            _batch.Add(new Change(piece.Range, MapMark.Held));
            _batch.Bytes += bytes.Length;
            if (digest is not null)
                _batch.Digests[bytes.Offset / BlockBytes] = digest;
            for (long mib = bytes.Offset / BlockBytes; digest is null && mib * BlockBytes < bytes.End; mib++)
                _batch.TouchedMibs.Add(mib);
            full = _batch.Bytes >= BytesBetween;
        }

        _free.Add(piece.Buffer);
        Interlocked.Decrement(ref _inFlight);
        _moved.Set();
        if (full)
            _checkpointWanted.Set();
    }

    private void Checkpoints()
    {
        var checkpoint = new Checkpoint(_folder);
        while (!_closing)
        {
            _checkpointWanted.WaitOne(BetweenCheckpoints);
            MakeOne(checkpoint);
        }

        MakeOne(checkpoint);
    }

    private void MakeOne(Checkpoint checkpoint)
    {
        Batch batch;
        lock (_lock)
        {
            batch = _batch;
            if (batch.IsEmpty || _failure is not null)
                return;
            _batch = new Batch();
        }

        checkpoint.Make(batch);
        Interlocked.Add(ref _ahead, -batch.Bytes);
        _moved.Set();
    }

    // Wakes up now and then by itself, so that a set that fell between a look and a reset costs no more than that.
    private void Await()
    {
        ThrowIfFailed();
        _moved.Wait(TimeSpan.FromMilliseconds(20));
        _moved.Reset();
    }

    private Thread Start(string name, Action work)
    {
        var thread = new Thread(() => Guard(work)) { IsBackground = true, Name = name };
        thread.Start();
        return thread;
    }

    private void Guard(Action work)
    {
        try
        {
            work();
        }
#pragma warning disable CA1031 // it is thrown again on the asking thread
        catch (Exception e)
#pragma warning restore CA1031
        {
            _failure ??= e;
            _moved.Set();
            _free.Add(new SectorBuffer(BlockBytes)); // whoever waits for a buffer must come to hear of it
        }
    }

    private void ThrowIfFailed()
    {
        if (_failure is { } failure)
            System.Runtime.ExceptionServices.ExceptionDispatchInfo.Throw(failure);
    }

    private bool IsWholeMib(SectorRange range) =>
        range.Count.Bytes(_sector) == BlockBytes && range.Start.ByteOffset(_sector) % BlockBytes == 0;

    private readonly record struct Piece(SectorRange Range, SectorBuffer Buffer)
    {
        public ReadOnlySpan<byte> Bytes(SectorSize sector) => Buffer.GetSpan()[..(int)Range.Count.Bytes(sector)];
    }
}
