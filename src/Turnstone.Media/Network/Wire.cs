using System.Buffers.Binary;
using System.Net.Sockets;

namespace Turnstone.Media.Network;

/// <summary>Big-endian numbers and exact lengths over a connected socket.</summary>
internal sealed class Wire(Socket socket) : IDisposable
{
    private readonly byte[] _small = new byte[64];

    public ushort U16() => BinaryPrimitives.ReadUInt16BigEndian(Take(2));

    public uint U32() => BinaryPrimitives.ReadUInt32BigEndian(Take(4));

    public ulong U64() => BinaryPrimitives.ReadUInt64BigEndian(Take(8));

    /// <summary>Fills the span or throws <see cref="EndOfStreamException"/>.</summary>
    public void Fill(Span<byte> into)
    {
        while (!into.IsEmpty)
        {
            int got = socket.Receive(into);
            if (got == 0)
                throw new EndOfStreamException("the server closed the connection");
            into = into[got..];
        }
    }

    /// <summary>Reads bytes away, any number, in small steps.</summary>
    public void Skip(long count)
    {
        for (; count > 0; count -= Math.Min(count, _small.Length))
            Fill(_small.AsSpan(0, (int)Math.Min(count, _small.Length)));
    }

    public void Send(ReadOnlySpan<byte> bytes)
    {
        while (!bytes.IsEmpty)
            bytes = bytes[socket.Send(bytes)..];
    }

    /// <summary>Makes a waiting receive end.</summary>
    public void Dispose() => socket.Dispose();

    private ReadOnlySpan<byte> Take(int count)
    {
        Fill(_small.AsSpan(0, count));
        return _small.AsSpan(0, count);
    }
}
