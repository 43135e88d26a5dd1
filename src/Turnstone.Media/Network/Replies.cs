using System.Buffers.Binary;
using System.Collections.Concurrent;

namespace Turnstone.Media.Network;

/// <summary>One read that was sent and not yet answered.</summary>
/// <param name="Offset">First byte asked for.</param>
/// <param name="Into">Where its bytes go.</param>
internal sealed record Pending(long Offset, Memory<byte> Into)
{
    public ManualResetEventSlim Answered { get; } = new();

    /// <summary>0 for success, else the protocol's error number; -1 when the connection is gone.</summary>
    public int Error { get; set; }

    /// <summary>Place of the error where the server names it.</summary>
    public long? ErrorOffset { get; set; }

    /// <summary>Bytes received; a success has to bring all of them.</summary>
    public long Received { get; set; }
}

/// <summary>Takes replies off the connection, in whatever order the server sends them, until it ends.</summary>
/// <remarks>Simple and structured replies: the NBD project's protocol document, doc/proto.md (from memory).</remarks>
internal sealed class Replies(Wire wire, ConcurrentDictionary<ulong, Pending> pending)
{
    public const int ConnectionGone = -1;
    private const uint SimpleMagic = 0x67446698, StructuredMagic = 0x668e33ef;
    private const ushort FlagDone = 1;
    private const ushort ChunkNone = 0, ChunkData = 1, ChunkHole = 2, ChunkError = 0x8001, ChunkErrorOffset = 0x8002;

    /// <summary>Runs until the connection ends; then everything still pending is answered as gone.</summary>
    /// <param name="whenEnded">Called once before that, so that whoever asks from then on knows.</param>
    public void Run(Action whenEnded)
    {
        try
        {
            while (TakeOne())
            {
            }
        }
        catch (Exception e) when (e is IOException or System.Net.Sockets.SocketException or ObjectDisposedException)
        {
            // The connection's end is an answer: the pending reads below get it.
        }

        whenEnded();
        foreach (ulong cookie in pending.Keys)
            Finish(cookie, p => p.Error = ConnectionGone);
    }

    // False when the server stops making sense: nothing after that can be believed.
    private bool TakeOne() => wire.U32() switch
    {
        SimpleMagic => TakeSimple(),
        StructuredMagic => TakeChunk(),
        _ => false,
    };

    private bool TakeSimple()
    {
        int error = (int)wire.U32();
        ulong cookie = wire.U64();
        if (!pending.TryGetValue(cookie, out Pending? read))
            return false;
        if (error == 0)
        {
            wire.Fill(read.Into.Span);
            read.Received = read.Into.Length;
        }

        Finish(cookie, p => p.Error = error);
        return true;
    }

    private bool TakeChunk()
    {
        ushort flags = wire.U16(), type = wire.U16();
        ulong cookie = wire.U64();
        uint length = wire.U32();
        if (!pending.TryGetValue(cookie, out Pending? read) || !TakeChunk(read, type, length))
            return false;
        if ((flags & FlagDone) != 0)
            Finish(cookie, _ => { });
        return true;
    }

    private bool TakeChunk(Pending read, ushort type, uint length)
    {
        switch (type)
        {
            case ChunkNone:
                return length == 0;
            case ChunkData:
                return length > 8 && TakeBytes(read, length - 8);
            case ChunkHole:
                return length == 12 && TakeHole(read);
            case ChunkError or ChunkErrorOffset:
                return TakeError(read, length, type == ChunkErrorOffset);
            default:
                wire.Skip(length);
                if ((type & 0x8000) != 0 && read.Error == 0)
                    read.Error = Linux.Libc.ErrorIo;
                return true;
        }
    }

    private bool TakeBytes(Pending read, uint count)
    {
        if (!Place(read, wire.U64(), count, out Span<byte> place))
            return false;
        wire.Fill(place);
        return true;
    }

    private bool TakeHole(Pending read)
    {
        ulong offset = wire.U64();
        if (!Place(read, offset, wire.U32(), out Span<byte> place))
            return false;
        place.Clear();
        return true;
    }

    private bool TakeError(Pending read, uint length, bool withOffset)
    {
        if (length < 6)
            return false;
        int error = (int)wire.U32();
        uint text = wire.U16(), left = length - 6;
        if (text + (withOffset ? 8u : 0u) > left)
            return false;
        wire.Skip(text);
        if (withOffset)
            read.ErrorOffset = (long)Math.Min(wire.U64(), long.MaxValue);
        wire.Skip(left - text - (withOffset ? 8 : 0));
        read.Error = error == 0 ? Linux.Libc.ErrorIo : error;
        return true;
    }

    private static bool Place(Pending read, ulong offset, uint count, out Span<byte> place)
    {
        long at = offset <= long.MaxValue ? (long)offset - read.Offset : -1;
        bool inside = at >= 0 && at + count <= read.Into.Length;
        place = inside ? read.Into.Span.Slice((int)at, (int)count) : default;
        read.Received += inside ? count : 0;
        return inside;
    }

    private void Finish(ulong cookie, Action<Pending> how)
    {
        if (!pending.TryRemove(cookie, out Pending? read))
            return;
        how(read);
        read.Answered.Set();
    }
}
