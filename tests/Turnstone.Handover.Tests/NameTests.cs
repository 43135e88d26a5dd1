using System.Text;
using Turnstone.Bench;
using Turnstone.Findings;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Handover.Tests;

public class NameTests
{
    private static readonly string[] Awkward = ["a", "A", "é", "e\u0301", "É", "..", ".", "CON", "con.txt", "nul", "COM1", "x:y", "a/b", "a\\b", "tail.", "tail ", " ", "...", "%41", "a%b", "~", "-rf", "=1+1", "\"q\"", "a\nb", "\u202Etxt.exe", "\0", "σ", "ς", "Σ", "ß", "ss", "a (2)", "a\uFFFFb", "long paths"];

    private static readonly Gen<string> Part = Gen.OneOf(
        Gen.Int[0, Awkward.Length - 1].Select(i => Awkward[i]),
        Gen.Char.Array[1, 300].Select(chars => new string(chars)),
        Gen.Char['a', 'c'].Array[1, 2].Select(chars => new string(chars)),
        Gen.Char['0', '9'].Array[200, 400].Select(chars => new string(chars) + ".jpeg"));

    private static readonly Gen<EntryPath> AnyPath = Part.Array[1, 8].Select(parts => parts.Aggregate(EntryPath.Root, (at, part) => at[part]));

    private static Placed[] Place(IEnumerable<EntryPath> paths)
    {
        var places = new PlaceGiver(NameLimits.Common);
        Entry[] entries = [.. paths.Select(path => HandMade.File("x") with { Path = path })];
        return [.. new Grader(new MemoryView(new byte[512])).Findings(new HandMadeVolume("ext4", entries)).Select(places.Of)];
    }

    [Fact]
    public void Whatever_the_names_every_file_gets_a_place_of_its_own_inside_the_bag() => AnyPath.Array[1, 30].Sample(paths =>
    {
        string root = Path.GetFullPath("/bag");
        string[] delivered = [.. Place(paths).Select(placed => placed.Path!)];
        return delivered.Distinct(StringComparer.Ordinal).Count() == paths.Length
            && delivered.Select(NameFold.Key).Distinct(StringComparer.Ordinal).Count() == paths.Length
            && delivered.All(path => Path.GetFullPath(Path.Combine(root, path)) == $"{root}/{path}")
            && delivered.All(path => path.StartsWith("data/whole/p1/", StringComparison.Ordinal) && path.Length <= NameLimits.Common.PathUnits)
            && delivered.SelectMany(path => path.Split('/')).All(IsFitForWindows)
            && NoFileIsAlsoAFolder(delivered);
    });

    [Fact]
    public void The_table_gives_every_original_name_back() => AnyPath.Sample(path =>
    {
        string line = FileTable.Line(Place([path])[0], null);
        string[] cells = line.Split('\t');
        return cells.Length == FileTable.Head.Split('\t').Length && !line.Contains('\n')
            && FileTable.ParsePath(cells[1]).SequenceEqual(path.Names) && cells[1][0] is not ('=' or '+' or '-' or '@' or '"');
    });

    [Theory]
    [InlineData("letter.txt", "letter.txt")]
    [InlineData("Ærø 東京.txt", "Ærø 東京.txt")]
    [InlineData("..", "___")]
    [InlineData("CON", "_CON")]
    [InlineData("con.tar.gz", "_con.tar.gz")]
    [InlineData("COM¹", "_COM¹")]
    [InlineData("CONSOLE", "CONSOLE")]
    [InlineData("a:b*c?", "a_b_c_")]
    [InlineData("50% off", "50_ off")]
    [InlineData("dot.", "dot_")]
    [InlineData("../../etc/passwd", ".._.._etc_passwd")]
    [InlineData("\u202Egpj.exe", "_gpj.exe")]
    public void A_name_keeps_what_every_system_can_hold(string name, string safe) => Assert.Equal(safe, SafeName.Of(name, 255, 255));

    [Fact]
    public void A_long_name_keeps_its_extension_and_its_whole_characters()
    {
        string safe = SafeName.Of(new string('あ', 200) + ".jpeg", 255, 255);
        Assert.EndsWith("あ.jpeg", safe, StringComparison.Ordinal);
        Assert.InRange(Encoding.UTF8.GetByteCount(safe), 253, 255);
        Assert.Equal(new string('a', 2) + "\U0001F600", SafeName.Of("aa\U0001F600\U0001F600", 5, 255));
    }

    [Fact]
    public void Twins_get_a_number_and_the_same_folder_has_one_name_on_every_shelf()
    {
        string?[] delivered = [.. Place([HandMade.At("Photos/a.jpg"), HandMade.At("photos/a.jpg"), HandMade.At("Photos/A.JPG"), HandMade.At("Photos/A.jpg")]).Select(placed => placed.Path)];
        Assert.Equal(["data/whole/p1/Photos/a.jpg", "data/whole/p1/photos (2)/a.jpg", "data/whole/p1/Photos/A (2).JPG", "data/whole/p1/Photos/A (3).jpg"], delivered);
    }

    private static bool NoFileIsAlsoAFolder(string[] delivered)
    {
        HashSet<string> files = [.. delivered.Select(NameFold.Key)];
        return delivered.SelectMany(Folders).All(folder => !files.Contains(NameFold.Key(folder)));
    }

    private static IEnumerable<string> Folders(string path)
    {
        for (string? folder = Path.GetDirectoryName(path); !string.IsNullOrEmpty(folder); folder = Path.GetDirectoryName(folder))
            yield return folder;
    }

    // Microsoft, Naming Files, Paths, and Namespaces (from memory).
    private static bool IsFitForWindows(string name)
    {
        string[] devices = ["CON", "PRN", "AUX", "NUL", "COM1", "LPT1"];
        return name.Length is > 0 and <= 255 && Encoding.UTF8.GetByteCount(name) <= 255
            && name.All(c => c >= ' ' && c != 127 && !"<>:\"|?*\\%".Contains(c))
            && name[^1] is not (' ' or '.') && !devices.Contains(name.Split('.')[0].TrimEnd(), StringComparer.OrdinalIgnoreCase);
    }
}
