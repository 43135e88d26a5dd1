using System.Buffers.Binary;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>Bends a volume where its structures are: links, offsets, keys, runs, sizes, not only any byte.</summary>
internal static class Mutations
{
    private static readonly uint[] Telling = [0, 1, 2, 3, 4, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0xFFFF, 0x10000, 0x40000000];

    /// <summary>Bends a few places, chosen by the seed, inside the given ranges.</summary>
    public static void Bend(byte[] volume, IReadOnlyList<(int At, int Length)> metadata, Random random, int nodeBytes)
    {
        for (int i = random.Next(1, 12); i > 0; i--)
        {
            (int at, int length) = metadata[random.Next(metadata.Count)];
            int node = at + (random.Next(Math.Max(1, length / nodeBytes)) * nodeBytes);
            Span<byte> part = volume.AsSpan(node, Math.Min(nodeBytes, at + length - node));
            BendOne(volume, part, random, metadata, nodeBytes);
        }
    }

    private static void BendOne(byte[] volume, Span<byte> part, Random random, IReadOnlyList<(int At, int Length)> metadata, int nodeBytes)
    {
        switch (random.Next(9))
        {
            case 0: part[random.Next(part.Length)] = (byte)random.Next(256); break;
            case 1: Word(part, random.Next(part.Length / 4) * 4, random); break;
            case 2: Word(part, random.Next(part.Length / 2) * 2, random); break;
            case 3: Word(part, 4 * random.Next(0, 3), random); break;
            case 4: Offset(part, random); break;
            case 5: Descriptor(part, random); break;
            case 6: CopyOver(volume, part, random, metadata, nodeBytes); break;
            case 7: part[random.Next(part.Length)..].Clear(); break;
            default: NodeNumber(part, random); break;
        }
    }

    private static void Word(Span<byte> part, int at, Random random)
    {
        if (at + 4 <= part.Length)
            BinaryPrimitives.WriteUInt32BigEndian(part[at..], random.Next(3) == 0 ? (uint)random.Next() : Telling[random.Next(Telling.Length)]);
    }

    /// <summary>One entry of the table of record offsets at the node's end.</summary>
    private static void Offset(Span<byte> part, Random random)
    {
        int at = part.Length - (2 * random.Next(1, 40));
        if (at >= 0)
            BinaryPrimitives.WriteUInt16BigEndian(part[at..], (ushort)random.Next(random.Next(2) == 0 ? part.Length : 65536));
    }

    private static void Descriptor(Span<byte> part, Random random)
    {
        if (part.Length >= 14)
            part[8 + random.Next(6)] = (byte)random.Next(random.Next(2) == 0 ? 4 : 256);
    }

    /// <summary>A node in two places: what a loop, a cross link or a stale copy looks like.</summary>
    private static void CopyOver(byte[] volume, Span<byte> part, Random random, IReadOnlyList<(int At, int Length)> metadata, int nodeBytes)
    {
        (int at, int length) = metadata[random.Next(metadata.Count)];
        int from = at + (random.Next(Math.Max(1, length / nodeBytes)) * nodeBytes);
        volume.AsSpan(from, Math.Min(part.Length, at + length - from)).ToArray().CopyTo(part);
    }

    /// <summary>A small number at any even place: often a link, a child, a parent or a block.</summary>
    private static void NodeNumber(Span<byte> part, Random random)
    {
        int at = 2 * random.Next(part.Length / 2);
        if (at + 4 <= part.Length)
            BinaryPrimitives.WriteUInt32BigEndian(part[at..], (uint)random.Next(64));
    }
}
