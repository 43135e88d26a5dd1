using System.Buffers.Binary;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>Real volumes with their metadata bent: an answer always comes, and never costs more than the bytes allow.</summary>
/// <remarks>'CsCheck_Time=600' in the environment makes each of these run for ten minutes.</remarks>
[Trait("kind", "privileged")]
public sealed class ExtFuzzTests
{
    /// <summary>Bytes read for one question, per byte of the volume. Ten times what the intact volumes need.</summary>
    private const long ReadsPerByte = 40;

    private static readonly string[] Variants = ["small-ext2", "small-ext4", "small-inline", "small-waiting"];

    private static readonly uint[] Telling = [0, 1, 2, 12, 0xFF, 0xF30A, 0xFFFF, 0x7FFF_FFFF, 0x8000_0000, 0xFFFF_FFFF];

    private static readonly Gen<uint> Value = Gen.OneOf(
        Gen.Int[0, Telling.Length - 1].Select(i => Telling[i]), Gen.UInt[0, 600], Gen.UInt[0, 6144], Gen.UInt);

    private static readonly Gen<Bend> Bends = Gen.Select(Gen.Int[0, int.MaxValue], Gen.Int[0, int.MaxValue], Value, Gen.Int[0, 4], Gen.Int[0, int.MaxValue],
        (structure, at, value, kind, other) => new Bend(structure, at, value, kind, other));

    public static TheoryData<string> All => [.. Variants];

    [Theory]
    [MemberData(nameof(All))]
    public void A_bent_volume_gets_an_answer_in_proportion_to_its_bytes(string variant)
    {
        byte[] intact = File.ReadAllBytes(ExtFixture.Get(variant).Image);
        ByteRange[] structures = [.. ExtFixture.Open(new MemoryView(intact)).Skeleton().Where(place => place.End <= intact.Length)];
        Bends.Array[1, 12].Sample(bends => Ask(bends.Aggregate((byte[])intact.Clone(), (bytes, bend) => bend.Apply(bytes, structures))), iter: 400);
    }

    [Theory]
    [MemberData(nameof(All))]
    public void A_bent_volume_with_holes_gets_an_answer_too(string variant)
    {
        byte[] intact = File.ReadAllBytes(ExtFixture.Get(variant).Image);
        ByteRange[] structures = [.. ExtFixture.Open(new MemoryView(intact)).Skeleton().Where(place => place.End <= intact.Length)];
        Gen.Select(Bends.Array[1, 6], Gen.Int).Sample((bends, seed) =>
        {
            byte[] bytes = bends.Aggregate((byte[])intact.Clone(), (bent, bend) => bend.Apply(bent, structures));
            var random = new Random(seed);
            var holed = new HoledView(new MemoryView(bytes), RandomHoles.Of(bytes.Length, random, random.NextDouble() / 4));
            foreach (Volume volume in ExtFixture.OpenAll(holed))
                Exhaust(volume, bytes.Length);
        }, iter: 200);
    }

    [Fact]
    public void Noise_in_the_metadata_of_a_real_superblock_gets_an_answer() =>
        Gen.Select(Gen.Int[0, Variants.Length - 1], Gen.Int).Sample((variant, seed) =>
        {
            byte[] bytes = File.ReadAllBytes(ExtFixture.Get(Variants[variant]).Image);
            new Random(seed).NextBytes(bytes.AsSpan(2048 + (seed & 0x3FFF)));
            Ask(bytes);
        }, iter: 40);

    private static void Ask(byte[] bytes)
    {
        var counted = new CountedView(new MemoryView(bytes));
        foreach (Volume volume in ExtFixture.OpenAll(counted))
            Exhaust(volume, bytes.Length);
        Assert.True(counted.BytesRead < ReadsPerByte * bytes.Length, $"{counted.BytesRead} bytes read of a volume of {bytes.Length}");
    }

    private static void Exhaust(Volume volume, int length)
    {
        long entries = 0, extents = 0;
        foreach (Entry entry in volume.Entries())
        {
            entries++;
            extents += entry.Content?.Extents?.Count ?? 0;
            Assert.True(entry.Content is null || entry.Content.Length >= 0);
            Assert.False(entry.Deleted && entry.Certainty == Certainty.Sure);
        }

        Assert.True(entries < length / 12 && extents < length / 2, $"{entries} entries and {extents} extents from {length} bytes");
        Assert.True(volume.Usage().Sum(run => run.Place.Length) <= length);
        Assert.True(volume.Skeleton().Count() < length);
        Assert.NotNull(volume.Facts.Kind);
    }

    /// <summary>One change: a field gets a telling value, a structure another's bytes.</summary>
    private sealed record Bend(int Structure, int At, uint Value, int Kind, int Other)
    {
        public byte[] Apply(byte[] bytes, ByteRange[] structures)
        {
            ByteRange place = structures[Structure % structures.Length];
            Span<byte> target = bytes.AsSpan((int)place.Offset, (int)Math.Min(place.Length, 65_536));
            int at = At % Math.Max(1, (target.Length / 4) - 1) * 4;
            switch (Kind)
            {
                case 0:
                    BinaryPrimitives.WriteUInt32LittleEndian(target[at..], Value);
                    break;
                case 1:
                    BinaryPrimitives.WriteUInt16LittleEndian(target[(at + ((Other & 1) * 2))..], (ushort)Value);
                    break;
                case 2:
                    ByteRange from = structures[Other % structures.Length];
                    int length = (int)Math.Min(from.Length, target.Length);
                    bytes.AsSpan((int)from.Offset, length).CopyTo(target);
                    break;
                case 3:
                    BinaryPrimitives.WriteUInt32BigEndian(target[at..], Value);
                    break;
                default:
                    for (int i = 0; i < 16 && i < target.Length - at; i++)
                        target[at + i] ^= (byte)(Value >> (i % 4 * 8));
                    break;
            }

            return bytes;
        }
    }

    private sealed class CountedView(ISectorView inner) : ISectorView
    {
        public long BytesRead { get; private set; }

        public long Length => inner.Length;

        public SectorSize SectorSize => inner.SectorSize;

        public bool TryRead(long offset, Span<byte> into)
        {
            BytesRead += into.Length;
            return inner.TryRead(offset, into);
        }

        public IEnumerable<ByteRange> Missing(ByteRange range) => inner.Missing(range);
    }
}
