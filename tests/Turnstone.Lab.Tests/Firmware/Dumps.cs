using System.Security.Cryptography;
using Turnstone.Bench;
using Turnstone.Lab.Firmware;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Firmware;

public sealed class Dumps : IDisposable
{
    private readonly TempFolder _folder = new();

    [Fact]
    public void Two_dumps_differ_in_just_the_bytes_that_an_ordinary_tool_lists()
    {
        // Outside: cmp -l of diffutils.
        var random = new Random(3);
        byte[] first = new byte[60_000], second;
        random.NextBytes(first);
        second = [.. first];
        for (int i = 0; i < 300; i++)
            second[random.Next(second.Length)] ^= (byte)random.Next(1, 256);
        DumpComparison comparison = DumpComparison.Of(first, second);
        Assert.Equal(Tool.Try("cmp", "-l", Kept("a", first), Kept("b", second)).Output.Count(c => c == '\n'), comparison.DifferingBytes);
        Assert.All(Offsets(first, second), at => Assert.Contains(comparison.Differences, d => at >= d.Offset && at < d.Offset + d.Length));
    }

    [Fact]
    public void Every_difference_lies_in_one_stretch_and_stretches_begin_and_end_with_one() =>
        Gen.Select(Gen.Byte[0, 2].Array[0, 200], Gen.Byte[0, 2].Array[0, 200]).Sample((a, b) =>
        {
            DumpComparison c = DumpComparison.Of(a, b);
            long[] offsets = [.. Offsets(a, b)];
            return c.DifferingBytes == offsets.Length
                && c.Differences.All(d => offsets.Contains(d.Offset) && offsets.Contains(d.Offset + d.Length - 1))
                && c.Differences.Sum(d => offsets.Count(o => o >= d.Offset && o < d.Offset + d.Length)) == offsets.Length
                && c.Same == (offsets.Length == 0);
        });

    [Fact]
    public void A_digest_is_the_one_of_ordinary_tools()
    {
        byte[] bytes = RandomNumberGenerator.GetBytes(5000);
        Assert.StartsWith(DumpComparison.Of(bytes, []).FirstDigest.Hex, Tool.Run("sha256sum", Kept("a", bytes)));
    }

    [Fact]
    public void Strings_are_those_of_an_ordinary_tool()
    {
        // Outside: strings -a -n 4 of binutils; tabs, which it takes for printable, are left out of the input.
        var random = new Random(9);
        byte[] bytes = [.. Enumerable.Range(0, 20_000).Select(_ => (byte)(random.Next(3) == 0 ? random.Next(14, 32) : random.Next(32, 127)))];
        Assert.Equal(Tool.Run("strings", "-a", "-n", "4", Kept("a", bytes)).TrimEnd('\n').Split('\n'), DumpComparison.Strings(bytes));
    }

    [Fact]
    public void Entropy_is_nothing_for_one_byte_one_bit_for_two_and_eight_for_all()
    {
        Assert.Equal(0, DumpComparison.Entropy([7, 7, 7, 7]));
        Assert.Equal(1, DumpComparison.Entropy([0, 255, 0, 255]), 1e-12);
        Assert.Equal(8, DumpComparison.Entropy([.. Enumerable.Range(0, 256).Select(i => (byte)i)]), 1e-12);
        Assert.Equal(0, DumpComparison.Entropy([]));
        // Shannon 1948, section 7: chances 1/2, 1/4, 1/8, 1/8 have 7/4 bits.
        Assert.Equal(1.75, DumpComparison.Entropy([1, 1, 1, 1, 2, 2, 3, 4]), 1e-12);
    }

    [Fact]
    public void Nothing_may_be_written_before_two_takes_agree()
    {
        DumpBook book = DumpBook.Empty;
        Assert.Contains("was not taken; nothing may be written", book.TryNoteWritten(Written, out _));
        Assert.Null(book.TryKeep(Take("rom-1.bin", "x"), out book));
        Assert.Contains("was taken once only", book.TryNoteWritten(Written, out _));
        Assert.Null(book.TryKeep(Take("rom-2.bin", "y"), out book));
        Assert.Contains("no two agree", book.TryNoteWritten(Written, out _));
        Assert.Null(book.TryKeep(Take("rom-3.bin", "x"), out book));
        Assert.Null(book.TryNoteWritten(Written, out book));
        Assert.Single(book.Written);
    }

    [Fact]
    public void The_same_file_twice_is_not_two_takes()
    {
        Assert.Null(DumpBook.Empty.TryKeep(Take("rom-1.bin", "x"), out DumpBook book));
        Assert.Contains("a copy of the first proves nothing", book.TryKeep(Take("rom-1.bin", "x"), out _));
    }

    [Fact]
    public void Takes_of_another_drive_or_module_do_not_count()
    {
        Assert.Null(DumpBook.Empty.TryKeep(Take("a", "x"), out DumpBook book));
        Assert.Null(book.TryKeep(Take("b", "x") with { Name = "module 12" }, out book));
        Assert.Equal(DumpStanding.TakenOnce, book.Standing("2026-014", Serial("WQX4417KQ"), DumpKind.Rom, "rom"));
    }

    [Fact]
    public void An_empty_dump_is_refused() => Assert.Contains("is empty", DumpBook.Empty.TryKeep(Take("a", "x") with { Size = 0 }, out _));

    public void Dispose() => _folder.Dispose();

    private static readonly WrittenBack Written = new("2026-014", Serial("WQX4417KQ"), DumpKind.Rom, "rom", Sha256Digest.Of("new"), default, "R. Quell", "adaptives for the new heads");

    private static DumpTake Take(string source, string content) => new("2026-014", Serial("WQX4417KQ"), DumpKind.Rom, "rom", source, 1, Sha256Digest.Of(content), default, "R. Quell");

    private static SerialNumber Serial(string text)
    {
        Assert.Null(SerialNumber.TryRead(text, out SerialNumber serial));
        return serial;
    }

    private static IEnumerable<long> Offsets(byte[] a, byte[] b) =>
        Enumerable.Range(0, Math.Max(a.Length, b.Length)).Where(i => i >= a.Length || i >= b.Length || a[i] != b[i]).Select(i => (long)i);

    private string Kept(string name, byte[] bytes)
    {
        File.WriteAllBytes(_folder[name], bytes);
        return _folder[name];
    }
}
