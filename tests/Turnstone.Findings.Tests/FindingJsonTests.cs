using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings.Tests;

public class FindingJsonTests
{
    private static readonly byte[] Bytes = HandMade.Bytes(8192);

    private static string Line(Entry entry, bool digests = false, params ByteRange[] holes)
    {
        using var to = new MemoryStream();
        using (var json = new FindingJson(to))
        {
            foreach (FileFinding finding in new Grader(new HoledView(new MemoryView(Bytes), holes)).Findings(new HandMadeVolume("exFAT", entry)))
                json.Write(finding, digests ? ContentDigest.Sha256(finding) : null);
        }

        return Encoding.UTF8.GetString(to.ToArray());
    }

    [Fact]
    public void A_line_holds_the_keys_that_programs_rely_on()
    {
        Entry entry = HandMade.File("Field notes/ærø.txt", Extent.At(1024, 700), Extent.Zeros(300)) with { Times = new(new DateTimeOffset(2024, 2, 29, 12, 30, 15, TimeSpan.FromHours(2))) };
        string[] expected =
        [
            """{"volume":"p1","path":"Field notes/ærø.txt","kind":"file","size":1000,"deleted":false,"grade":"holed","heldBytes":488,""",
            """ "missing":[{"offset":0,"length":512}],"extents":[{"offset":1024,"length":700},{"offset":null,"length":300}],""",
            """ "modified":"2024-02-29T12:30:15+02:00","certainty":"sure","origin":"table","notes":[]}""",
        ];
        Assert.Equal(string.Concat(expected.Select(part => part.Trim())) + "\n", Line(entry, false, new ByteRange(1024, 512)));
    }

    [Fact]
    public void A_file_with_a_stretch_at_an_unknown_place_has_no_extents_but_says_which_are_known()
    {
        JsonElement line = JsonDocument.Parse(Line(HandMade.File("a", Extent.Unknown(10), Extent.At(512, 5)))).RootElement;
        Assert.Equal(JsonValueKind.Null, line.GetProperty("extents").ValueKind);
        Assert.Equal("""[{"fileOffset":10,"offset":512,"length":5}]""", line.GetProperty("knownExtents").GetRawText());
    }

    [Fact]
    public void A_digest_is_of_the_bytes_and_given_only_where_all_are_held()
    {
        Entry entry = HandMade.File("a", Extent.At(100, 5000));
        Assert.Contains(Convert.ToHexStringLower(SHA256.HashData(Bytes.AsSpan(100, 5000))), Line(entry, digests: true), StringComparison.Ordinal);
        Assert.DoesNotContain("sha256", Line(entry, true, new ByteRange(512, 512)), StringComparison.Ordinal);
    }

    [Fact]
    public void Any_name_gives_one_line_of_valid_json_without_treacherous_characters() =>
        Gen.Char.Array[1, 20].Select(chars => new string(chars)).Sample(name =>
        {
            string line = Line(HandMade.Folder("x") with { Path = EntryPath.Root[name] });
            string path = JsonDocument.Parse(line).RootElement.GetProperty("path").GetString()!;
            bool exact = path == name.Replace('/', ':') || line.Contains("pathUtf16", StringComparison.Ordinal);
            return exact && line.TrimEnd('\n').EnumerateRunes().All(rune => !VisibleText.IsTreacherous(rune));
        });

    [Fact]
    public void A_name_with_half_a_character_is_told_exactly_beside()
    {
        JsonElement line = JsonDocument.Parse(Line(HandMade.Folder("a\uD800b"))).RootElement;
        Assert.Equal(("a\uFFFDb", "0061d8000062"), (line.GetProperty("path").GetString(), line.GetProperty("pathUtf16").GetString()));
    }

    [Fact]
    public void A_name_that_turns_the_direction_of_writing_is_escaped() =>
        Assert.Contains(@"photo\u202Egpj.exe", Line(HandMade.Folder("photo\u202Egpj.exe")), StringComparison.Ordinal);
}
