namespace Turnstone.Handover.Tests;

public class WorkedExampleTests
{
    [Fact]
    public void The_writer_makes_the_worked_example_byte_for_byte()
    {
        using var bag = new TempFolder();
        string[] payload = ["data/a%b.txt", "data/letter.txt", "data/photos/empty.jpg"];
        using (var writer = new BagWriter(bag.Path))
        {
            foreach (string path in payload)
            {
                Directory.CreateDirectory(Path.GetDirectoryName(bag[path])!);
                writer.Enter(PayloadFile.WriteText(bag.Path, path, System.Text.Encoding.UTF8.GetBytes(WorkedExample.Files[path])));
            }

            writer.Tag("bag-info.txt", WorkedExample.Files["bag-info.txt"].TrimEnd('\n').Split('\n'));
            writer.Close();
        }

        Assert.Equal(
            WorkedExample.Files.OrderBy(file => file.Key, StringComparer.Ordinal),
            Directory.EnumerateFiles(bag.Path, "*", SearchOption.AllDirectories)
                .Select(file => KeyValuePair.Create(Path.GetRelativePath(bag.Path, file), File.ReadAllText(file)))
                .OrderBy(file => file.Key, StringComparer.Ordinal));
    }

    [Fact]
    public void The_worked_example_is_valid_without_a_word()
    {
        using TempFolder bag = WorkedExample.Write();
        BagReport report = new BagCheck(bag.Path).Run();
        Assert.Equal(("1.0", 3L, 26L, true), (report.Version, report.Files, report.Bytes, report.IsValid));
        Assert.Empty(report.Problems);
        Assert.Equal(["sha256", "sha512"], report.Algorithms);
    }

    // FIPS 180-4 examples, as in RFC 6234, section 8.5; recomputed with coreutils.
    [Theory]
    [InlineData("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", "cf83e1357eefb8bdf1542850d66d8007d620e4050b5715dc83f4a921d36ce9ce47d0d13c5d85f2b0ff8318d2877eec2f63b931bd47417a81a538327af927da3e")]
    [InlineData("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f")]
    [InlineData("1000000 a", "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0", "e718483d0ce769644e2e42c7bc15b4638e1f98b13b2044285632a803afa973ebde0ff244877ea60a4cb0432ce577c31beb009c5c2c49aa2e4eadb217ad8cc09b")]
    public void Digests_are_those_of_the_standard_in_pieces_of_any_size(string message, string sha256, string sha512)
    {
        byte[] bytes = System.Text.Encoding.ASCII.GetBytes(message == "1000000 a" ? new string('a', 1_000_000) : message);
        foreach (int step in (int[])[1, 63, 64, 65, 1 << 20])
        {
            using var hash = new TwinHash();
            foreach (byte[] piece in bytes.Chunk(step))
                hash.Take(piece);
            Assert.Equal(new TwinDigest(sha256, sha512), hash.Finish());
        }
    }
}
