using Turnstone.Lab.Values;

namespace Turnstone.Lab.Firmware;

/// <summary>A stretch in which two dumps differ.</summary>
/// <param name="Offset">First byte.</param>
/// <param name="Length">Bytes from the first to the last difference.</param>
/// <param name="Differing">How many of them differ.</param>
/// <param name="First">The stretch in the first dump; null where that has ended.</param>
/// <param name="Second">The stretch in the second dump; null where that has ended.</param>
public sealed record DumpDifference(long Offset, long Length, long Differing, StretchLook? First, StretchLook? Second);

/// <summary>How a stretch of bytes looks.</summary>
/// <param name="EntropyBits">Shannon entropy of its bytes, 0 to 8 bits a byte: near 8 is packed or encrypted, 0 is one byte over and over.</param>
/// <param name="Strings">Runs of four and more printable ASCII characters, at most twenty.</param>
public sealed record StretchLook(double EntropyBits, IReadOnlyList<string> Strings);

/// <summary>Which bytes differ between two dumps.</summary>
/// <param name="FirstSize">Bytes of the first.</param>
/// <param name="SecondSize">Bytes of the second.</param>
/// <param name="FirstDigest">Of all its bytes.</param>
/// <param name="SecondDigest">Of all its bytes.</param>
/// <param name="Differences">Stretches, in order; a longer dump's tail is one.</param>
public sealed record DumpComparison(long FirstSize, long SecondSize, Sha256Digest FirstDigest, Sha256Digest SecondDigest, IReadOnlyList<DumpDifference> Differences)
{
    /// <summary>Equal bytes between two differences that don't yet part them into two stretches.</summary>
    private const int Bridged = 16;

    /// <summary>Whether the two are the same to the byte.</summary>
    public bool Same => FirstDigest == SecondDigest && FirstSize == SecondSize;

    /// <summary>How many bytes differ; what one has more counts.</summary>
    public long DifferingBytes => Differences.Sum(d => d.Differing);

    /// <summary>Compares two dumps.</summary>
    public static DumpComparison Of(ReadOnlySpan<byte> first, ReadOnlySpan<byte> second)
    {
        var found = new List<DumpDifference>();
        int common = Math.Min(first.Length, second.Length), at = 0;
        while (NextDifference(first[..common], second[..common], at) is var start && start < common)
        {
            int end = StretchEnd(first[..common], second[..common], start, out long differing);
            found.Add(new DumpDifference(start, end - start, differing, Look(first[start..end]), Look(second[start..end])));
            at = end;
        }

        if (first.Length != second.Length)
            found.Add(new DumpDifference(common, Math.Abs(first.Length - second.Length), Math.Abs(first.Length - second.Length), Tail(first, common), Tail(second, common)));
        return new DumpComparison(first.Length, second.Length, Sha256Digest.Of(first), Sha256Digest.Of(second), found);
    }

    /// <summary>Shannon entropy of the bytes, in bits a byte; 0 for no bytes.</summary>
    /// <remarks>Shannon, Bell System Technical Journal 27, 1948.</remarks>
    public static double Entropy(ReadOnlySpan<byte> bytes)
    {
        Span<long> counts = stackalloc long[256];
        foreach (byte b in bytes)
            counts[b]++;
        double bits = 0;
        foreach (long count in counts)
        {
            double share = (double)count / bytes.Length;
            bits -= count > 0 ? share * Math.Log2(share) : 0;
        }

        return bits;
    }

    /// <summary>Runs of printable ASCII characters.</summary>
    /// <param name="bytes">Where to look.</param>
    /// <param name="shortest">Fewest characters of a run.</param>
    public static IReadOnlyList<string> Strings(ReadOnlySpan<byte> bytes, int shortest = 4)
    {
        var found = new List<string>();
        for (int at = 0; at < bytes.Length;)
        {
            int run = bytes[at..].IndexOfAnyExceptInRange((byte)' ', (byte)'~');
            run = run < 0 ? bytes.Length - at : run;
            if (run >= shortest)
                found.Add(System.Text.Encoding.ASCII.GetString(bytes.Slice(at, run)));
            at += run + 1;
        }

        return found;
    }

    private static StretchLook Look(ReadOnlySpan<byte> bytes) => new(Entropy(bytes), [.. Strings(bytes).Take(20)]);

    private static StretchLook? Tail(ReadOnlySpan<byte> bytes, int from) => bytes.Length > from ? Look(bytes[from..]) : null;

    private static int NextDifference(ReadOnlySpan<byte> first, ReadOnlySpan<byte> second, int from) => from + first[from..].CommonPrefixLength(second[from..]);

    private static int StretchEnd(ReadOnlySpan<byte> first, ReadOnlySpan<byte> second, int start, out long differing)
    {
        differing = 1;
        int end = start + 1;
        while (NextDifference(first, second, end) is var next && next < first.Length && next - end <= Bridged)
        {
            differing++;
            end = next + 1;
        }

        return end;
    }
}
