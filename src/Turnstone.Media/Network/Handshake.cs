using System.Buffers.Binary;
using System.Text;

namespace Turnstone.Media.Network;

/// <summary>What was agreed with a server before the first read.</summary>
/// <param name="Bytes">Size of the export.</param>
/// <param name="BlockMin">Smallest read, a power of two; 1 where the server has no wish.</param>
/// <param name="BlockMax">Largest read in bytes.</param>
/// <param name="StructuredReplies">Whether an error can name its place.</param>
internal sealed record Agreement(long Bytes, int BlockMin, int BlockMax, bool StructuredReplies);

/// <summary>The fixed newstyle handshake.</summary>
/// <remarks>Numbers and order: the NBD project's protocol document, doc/proto.md (from memory); tried against nbdkit and qemu-nbd.</remarks>
internal sealed class Handshake(Wire wire, string export)
{
    private const ulong Greeting = 0x4e42444d41474943, OptionMagic = 0x49484156454F5054, ReplyMagic = 0x3e889045565a9;
    private const uint OptionExportName = 1, OptionGo = 7, OptionStructuredReply = 8;
    private const uint ReplyAck = 1, ReplyInfo = 3, ReplyError = 0x80000000, ReplyUnsupported = ReplyError + 1;
    private const ushort FixedNewstyle = 1, NoZeroes = 2, InfoExport = 0, InfoBlockSize = 3;
    private const int LargestPayload = 32 << 20, LargestText = 4096;

    private long _bytes = -1;
    private int _blockMin = 1, _blockMax = LargestPayload;

    /// <summary>Agrees with the server.</summary>
    /// <exception cref="IOException">The server does not speak the protocol or refuses the export; the message says which.</exception>
    public Agreement Run()
    {
        if (wire.U64() != Greeting || wire.U64() != OptionMagic)
            throw new IOException("what answers there is no network block device of the newstyle handshake");
        ushort server = wire.U16();
        if ((server & FixedNewstyle) == 0)
            throw new IOException("the server does not offer the fixed newstyle handshake");
        bool noZeroes = (server & NoZeroes) != 0;
        SendU32((uint)(FixedNewstyle | (noZeroes ? NoZeroes : 0)));

        bool structured = AskStructured();
        if (!Go())
            EnterOldWay(noZeroes);
        if (_bytes <= 0)
            throw new IOException($"export '{export}' has no bytes");
        return new Agreement(_bytes, _blockMin, _blockMax, structured);
    }

    private bool AskStructured()
    {
        SendOption(OptionStructuredReply, []);
        (uint type, uint length) = Reply(OptionStructuredReply);
        wire.Skip(length);
        return type == ReplyAck;
    }

    // False when the server is too old to know the option.
    private bool Go()
    {
        byte[] name = Encoding.UTF8.GetBytes(export);
        byte[] data = new byte[4 + name.Length + 4];
        BinaryPrimitives.WriteUInt32BigEndian(data, (uint)name.Length);
        name.CopyTo(data, 4);
        BinaryPrimitives.WriteUInt16BigEndian(data.AsSpan(4 + name.Length), 1);
        BinaryPrimitives.WriteUInt16BigEndian(data.AsSpan(6 + name.Length), InfoBlockSize);
        SendOption(OptionGo, data);
        while (true)
        {
            (uint type, uint length) = Reply(OptionGo);
            if (type == ReplyUnsupported)
            {
                wire.Skip(length);
                return false;
            }

            if ((type & ReplyError) != 0)
                throw new IOException($"the server refuses export '{export}': {Text(length)} (0x{type:x})");
            if (type == ReplyInfo)
                TakeInfo(length);
            else
                wire.Skip(length);
            if (type == ReplyAck)
                return true;
        }
    }

    private void TakeInfo(uint length)
    {
        if (length < 2)
            throw new IOException("the server sent a piece of information without a type");
        ushort kind = wire.U16();
        long left = length - 2;
        if (kind == InfoExport && left >= 10)
        {
            _bytes = Size(wire.U64());
            left -= 8;
        }
        else if (kind == InfoBlockSize && left >= 12)
        {
            _blockMin = BlockSize(wire.U32());
            _ = wire.U32();
            _blockMax = (int)Math.Clamp(wire.U32(), 512, LargestPayload);
            left -= 12;
        }

        wire.Skip(left);
    }

    // A server that doesn't know the option closes the connection on a wrong name, so this comes last.
    private void EnterOldWay(bool noZeroes)
    {
        SendOption(OptionExportName, Encoding.UTF8.GetBytes(export));
        _bytes = Size(wire.U64());
        _ = wire.U16();
        if (!noZeroes)
            wire.Skip(124);
    }

    private (uint Type, uint Length) Reply(uint option)
    {
        if (wire.U64() != ReplyMagic || wire.U32() != option)
            throw new IOException("the server's answer to an option makes no sense");
        return (wire.U32(), wire.U32());
    }

    private void SendOption(uint option, ReadOnlySpan<byte> data)
    {
        byte[] message = new byte[16 + data.Length];
        BinaryPrimitives.WriteUInt64BigEndian(message, OptionMagic);
        BinaryPrimitives.WriteUInt32BigEndian(message.AsSpan(8), option);
        BinaryPrimitives.WriteUInt32BigEndian(message.AsSpan(12), (uint)data.Length);
        data.CopyTo(message.AsSpan(16));
        wire.Send(message);
    }

    private void SendU32(uint value)
    {
        Span<byte> message = stackalloc byte[4];
        BinaryPrimitives.WriteUInt32BigEndian(message, value);
        wire.Send(message);
    }

    private string Text(uint length)
    {
        byte[] text = new byte[Math.Min(length, LargestText)];
        wire.Fill(text);
        wire.Skip(length - text.Length);
        return text.Length == 0 ? "no reason given" : new string([.. Encoding.UTF8.GetString(text).Where(c => !char.IsControl(c))]);
    }

    private static long Size(ulong bytes) =>
        bytes <= long.MaxValue ? (long)bytes : throw new IOException($"the server claims {bytes} bytes");

    private static int BlockSize(uint bytes) => bytes is > 0 and <= 65_536 && uint.IsPow2(bytes)
        ? (int)bytes
        : throw new IOException($"the server asks for blocks of {bytes} bytes");
}
