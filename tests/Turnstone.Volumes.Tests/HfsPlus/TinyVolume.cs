using System.Buffers.Binary;
using System.Text;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>
/// A volume of one megabyte with a catalog of one leaf, for what the outside driver cannot write. Layout after Apple, Technical Note
/// TN1150, HFS Plus Volume Format, 2004 (from memory); the reader agrees with real volumes on the same structures.
/// </summary>
internal sealed class TinyVolume
{
    public const int BlockBytes = 4096, NodeBytes = 8192, Blocks = 256;
    private const int CatalogBlock = 4, FirstFreeBlock = 16;
    private readonly byte[] _bytes = new byte[Blocks * BlockBytes];
    private readonly List<(uint Parent, string Name, byte[] Data)> _records = [];
    private uint _nextId = 20, _nextBlock = FirstFreeBlock;

    public TinyVolume() => AddFolder(1, "Tiny", 2);

    /// <summary>Runs after the records are laid out, on the bytes of the whole volume.</summary>
    public Action<byte[]>? Bend { get; init; }

    public uint AddFolder(uint parent, string name, uint? id = null)
    {
        uint own = id ?? _nextId++;
        byte[] data = Data(88, type: 1, own, mode: 0x41ED);
        Add(parent, name, data);
        AddThread(own, parent, name, 3);
        return own;
    }

    public uint AddFile(uint parent, string name, byte[] content, Action<byte[]>? change = null)
    {
        uint own = _nextId++;
        byte[] data = Data(248, type: 2, own, mode: 0x81A4);
        Fork(content).CopyTo(data, 88);
        change?.Invoke(data);
        Add(parent, name, data);
        AddThread(own, parent, name, 4);
        return own;
    }

    public byte[] Fork(byte[] content)
    {
        uint blocks = (uint)((content.Length + BlockBytes - 1) / BlockBytes);
        content.CopyTo(_bytes, _nextBlock * BlockBytes);
        byte[] fork = ForkOf(content.Length, blocks, (_nextBlock, blocks));
        _nextBlock += blocks;
        return fork;
    }

    public static byte[] ForkOf(long size, uint blocks, params (uint Start, uint Count)[] runs)
    {
        byte[] fork = new byte[80];
        BinaryPrimitives.WriteInt64BigEndian(fork, size);
        Put(fork, 12, blocks);
        for (int i = 0; i < runs.Length; i++)
        {
            Put(fork, 16 + (8 * i), runs[i].Start);
            Put(fork, 20 + (8 * i), runs[i].Count);
        }

        return fork;
    }

    public static void Put(Span<byte> bytes, int at, uint value) => BinaryPrimitives.WriteUInt32BigEndian(bytes[at..], value);

    /// <summary>A link's Finder type and creator, and the number that it leads to.</summary>
    public static Action<byte[]> LinkTo(string type, string creator, uint number) => data =>
    {
        Encoding.ASCII.GetBytes(type + creator).CopyTo(data, 48);
        Put(data, 44, number);
    };

    public byte[] Build()
    {
        WriteHeader(1024);
        WriteHeader(_bytes.Length - 1024);
        WriteTreeHeader(CatalogBlock * BlockBytes, depth: 1, leaves: 1);
        WriteTreeHeader(2 * BlockBytes, depth: 0, leaves: 0);
        byte[][] records = [.. _records.OrderBy(r => r.Parent).ThenBy(r => r.Name, StringComparer.Ordinal).Select(r => (byte[])[.. Key(r.Parent, r.Name), .. r.Data])];
        WriteNode((CatalogBlock * BlockBytes) + NodeBytes, kind: 0xFF, height: 1, records);
        for (uint block = 0; block < _nextBlock; block++)
            _bytes[BlockBytes + (block / 8)] |= (byte)(0x80 >> (int)(block % 8));
        Bend?.Invoke(_bytes);
        return _bytes;
    }

    public Volume Open() => Prebuilt.Open(new MemoryView(Build()))!;

    private static byte[] Data(int length, ushort type, uint id, ushort mode)
    {
        byte[] data = new byte[length];
        BinaryPrimitives.WriteUInt16BigEndian(data, type);
        Put(data, 8, id);
        for (int date = 12; date <= 24; date += 4)
            Put(data, date, 3855168000);
        BinaryPrimitives.WriteUInt16BigEndian(data.AsSpan(42), mode);
        return data;
    }

    private static byte[] Text(string name) => [(byte)(name.Length >> 8), (byte)name.Length, .. name.SelectMany(c => (byte[])[(byte)(c >> 8), (byte)c])];

    private static byte[] Key(uint parent, string name)
    {
        byte[] text = Text(name), key = new byte[6 + text.Length];
        BinaryPrimitives.WriteUInt16BigEndian(key, (ushort)(4 + text.Length));
        Put(key, 2, parent);
        text.CopyTo(key, 6);
        return key;
    }

    private void Add(uint parent, string name, byte[] data) => _records.Add((parent, name, data));

    private void AddThread(uint id, uint parent, string name, byte type)
    {
        byte[] data = [0, type, 0, 0, 0, 0, 0, 0, .. Text(name)];
        Put(data, 4, parent);
        Add(id, "", data);
    }

    private void WriteHeader(int at)
    {
        Span<byte> header = _bytes.AsSpan(at, 512);
        Put(header, 0, 0x482B0004);
        Put(header, 4, 0x100);
        Put(header, 40, BlockBytes);
        Put(header, 44, Blocks);
        Put(header, 48, Blocks - _nextBlock);
        Put(header, 64, _nextId);
        ForkOf(BlockBytes, 1, (1, 1)).CopyTo(header[112..]);
        ForkOf(NodeBytes, 2, (2, 2)).CopyTo(header[192..]);
        ForkOf(6 * NodeBytes, 12, (CatalogBlock, 12)).CopyTo(header[272..]);
    }

    private void WriteTreeHeader(int at, ushort depth, uint leaves)
    {
        byte[] header = new byte[106];
        BinaryPrimitives.WriteUInt16BigEndian(header, depth);
        Put(header, 2, leaves);
        Put(header, 10, leaves);
        BinaryPrimitives.WriteUInt16BigEndian(header.AsSpan(18), NodeBytes);
        BinaryPrimitives.WriteUInt16BigEndian(header.AsSpan(20), 516);
        Put(header, 22, 6);
        Put(header, 38, 6);
        byte[] map = new byte[NodeBytes - 256];
        map[0] = (byte)(0x80 | (leaves << 6));
        WriteNode(at, kind: 1, height: 0, [header, new byte[128], map]);
    }

    private void WriteNode(int at, byte kind, byte height, byte[][] records)
    {
        Span<byte> node = _bytes.AsSpan(at, NodeBytes);
        (node[8], node[9]) = (kind, height);
        BinaryPrimitives.WriteUInt16BigEndian(node[10..], (ushort)records.Length);
        int offset = 14;
        for (int i = 0; i <= records.Length; i++)
        {
            BinaryPrimitives.WriteUInt16BigEndian(node[(NodeBytes - (2 * (i + 1)))..], (ushort)offset);
            if (i == records.Length)
                return;
            records[i].CopyTo(node[offset..]);
            offset += records[i].Length;
        }
    }
}
