using System.Buffers.Binary;
using System.Collections.Concurrent;
using System.Diagnostics;
using System.Net.Sockets;

namespace Turnstone.Media.Network;

/// <summary>A network block device, asked with reads only.</summary>
/// <remarks>
/// Time limits are kept here: a read that is not answered in time stays out, and the next one waits for it first.
/// The smallest block that the server allows becomes the sector where it is larger than 512 bytes.
/// </remarks>
public sealed class NetworkSource : IBlockSource
{
    private const uint RequestMagic = 0x25609513;
    private const ushort CommandRead = 0, CommandDisconnect = 2;

    private readonly Wire _wire;
    private readonly Agreement _agreed;
    private readonly ConcurrentDictionary<ulong, Pending> _pending = new();
    private readonly Thread _replies;
    private ulong _cookie;
    private Pending? _last;
    private volatile bool _gone;

    private NetworkSource(NetworkAddress address, Wire wire)
    {
        _wire = wire;
        _agreed = new Handshake(wire, address.Export).Run();
        var sector = new SectorSize(Math.Max(512, _agreed.BlockMin));
        if (_agreed.Bytes < sector.Bytes)
            throw new IOException($"export '{address.Export}' has {_agreed.Bytes} bytes: not one sector of {sector}");
        Geometry = new Geometry(sector, sector, new SectorCount(_agreed.Bytes / sector.Bytes));
        Identity = new SourceIdentity(address.Text, "network block device", Model: null, Serial: address.Export.Length == 0 ? null : address.Export);
        _replies = new Thread(Receive) { IsBackground = true, Name = "replies" };
        _replies.Start();
    }

    /// <inheritdoc/>
    public SourceIdentity Identity { get; }

    /// <inheritdoc/>
    public Geometry Geometry { get; }

    /// <summary>Connects and agrees with the server.</summary>
    /// <exception cref="IOException">Nobody answers, the server refuses the export, or speaks something else.</exception>
    public static NetworkSource Open(NetworkAddress address)
    {
        var wire = new Wire(address.Connect());
        try
        {
            return new NetworkSource(address, wire);
        }
        catch (SocketException e)
        {
            wire.Dispose();
            throw new IOException($"{address.Text}: {e.Message}", e);
        }
        catch
        {
            wire.Dispose();
            throw;
        }
    }

    /// <inheritdoc/>
    public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        Memory<byte> buffer = Door.Check(this, range, into);
        long start = Stopwatch.GetTimestamp(), offset = range.Start.ByteOffset(Geometry.Logical);
        for (int done = 0; done < buffer.Length; done += _agreed.BlockMax)
        {
            Memory<byte> part = buffer.Slice(done, Math.Min(_agreed.BlockMax, buffer.Length - done));
            var answer = new Pending(offset + done, part);
            bool sent = Ask(answer, start, limit);
            if (!answer.Answered.IsSet)
                return new ReadOutcome.Silent(NotSent: !sent && done == 0) { Asked = range, Took = Stopwatch.GetElapsedTime(start) };
            if (answer.Error != 0 || answer.Received < part.Length)
                return Refuse(range, start, answer);
        }

        return new ReadOutcome.Bytes(buffer) { Asked = range, Took = Stopwatch.GetElapsedTime(start) };
    }

    /// <summary>Takes leave of the server and closes the connection.</summary>
    public void Dispose()
    {
        if (!_gone)
            TrySend(CommandDisconnect, cookie: 0, offset: 0, length: 0);
        _wire.Dispose();
        _replies.Join(TimeSpan.FromSeconds(1));
    }

    // Waits for the answer, up to the limit; false when an earlier question is still out and this one was not put.
    private bool Ask(Pending read, long start, TimeSpan limit)
    {
        if (_last is { } before && !before.Answered.Wait(Left(start, limit)))
            return false;
        _last = read;
        ulong cookie = ++_cookie;
        _pending[cookie] = read;
        // The receiving thread sweeps pending reads once when it ends; one that came after the sweep is answered here.
        if (!TrySend(CommandRead, cookie, read.Offset, read.Into.Length) || _gone)
            Give(cookie, read);
        read.Answered.Wait(Left(start, limit));
        return true;
    }

    private void Give(ulong cookie, Pending read)
    {
        if (!_pending.TryRemove(cookie, out _))
            return;
        read.Error = Replies.ConnectionGone;
        read.Answered.Set();
    }

    private void Receive()
    {
        var replies = new Replies(_wire, _pending);
        replies.Run(whenEnded: () => _gone = true);
    }

    private bool TrySend(ushort command, ulong cookie, long offset, int length)
    {
        Span<byte> message = stackalloc byte[28];
        BinaryPrimitives.WriteUInt32BigEndian(message, RequestMagic);
        BinaryPrimitives.WriteUInt16BigEndian(message[4..], 0);
        BinaryPrimitives.WriteUInt16BigEndian(message[6..], command);
        BinaryPrimitives.WriteUInt64BigEndian(message[8..], cookie);
        BinaryPrimitives.WriteInt64BigEndian(message[16..], offset);
        BinaryPrimitives.WriteInt32BigEndian(message[24..], length);
        try
        {
            _wire.Send(message);
            return true;
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException)
        {
            return false;
        }
    }

    private ReadOutcome.Refused Refuse(SectorRange range, long start, Pending answer)
    {
        RefusalCause cause = answer.Error switch
        {
            Replies.ConnectionGone or 108 => RefusalCause.Gone, // 108: the server says that it is shutting down
            Linux.Libc.ErrorInvalid or 75 => RefusalCause.PastEnd,
            _ => Linux.BlockDeviceSource.CauseOf(answer.Error),
        };
        Lba? first = answer.ErrorOffset is { } at && range.Bytes(Geometry.Logical).Contains(new ByteRange(at, 1))
            ? new Lba(at / Geometry.Logical.Bytes)
            : null;
        return new ReadOutcome.Refused(cause, first) { Asked = range, Took = Stopwatch.GetElapsedTime(start) };
    }

    private static TimeSpan Left(long start, TimeSpan limit)
    {
        if (limit == Timeout.InfiniteTimeSpan)
            return limit;
        TimeSpan left = limit - Stopwatch.GetElapsedTime(start);
        return left < TimeSpan.Zero ? TimeSpan.Zero : left;
    }
}
