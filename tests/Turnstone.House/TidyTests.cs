using System.Text.RegularExpressions;
using Turnstone.Bench;

namespace Turnstone.House;

public partial class TidyTests
{
    [Fact]
    public void No_room_is_a_drawer_for_odds_and_ends() => Expect.None(Sources.Files("src").Concat(Sources.Files("tests"))
        .Where(file => file.Split('/').Any(part => DrawerName().IsMatch(Path.GetFileNameWithoutExtension(part)))));

    [Fact]
    public void Nothing_is_left_unfinished() => Expect.None(Sources.Files("src").Where(file => Unfinished().IsMatch(Sources.Text(file))));

    [Fact]
    public void No_test_is_skipped() => Expect.None(Sources.Files("tests").Where(file => file != "tests/Turnstone.House/TidyTests.cs" && SkippedTest().IsMatch(Sources.Text(file))));

    [Fact]
    public void Every_page_of_the_docs_can_be_reached_from_the_first_one()
    {
        string docs = Path.Combine(Repository.Root, "docs");
        var reached = new HashSet<string>(StringComparer.Ordinal);
        var left = new Stack<string>([Path.Combine(docs, "README.md"), Path.Combine(Repository.Root, "README.md")]);
        while (left.TryPop(out string? page))
        {
            if (!File.Exists(page) || !reached.Add(page))
                continue;
            foreach (Match link in Link().Matches(File.ReadAllText(page)))
                left.Push(Path.GetFullPath(Path.Combine(Path.GetDirectoryName(page)!, link.Groups[1].Value.Split('#')[0])));
        }

        Expect.None(Directory.EnumerateFiles(docs, "*.md", SearchOption.AllDirectories).Where(page => !reached.Contains(page)).Select(page => Path.GetRelativePath(docs, page)));
    }

    [Fact]
    public void Links_in_the_docs_lead_somewhere()
    {
        var pages = Directory.EnumerateFiles(Path.Combine(Repository.Root, "docs"), "*.md", SearchOption.AllDirectories).Append(Path.Combine(Repository.Root, "README.md"));
        Expect.None(pages.SelectMany(page => Link().Matches(File.ReadAllText(page))
            .Select(link => link.Groups[1].Value.Split('#')[0])
            .Where(to => to.Length > 0 && !to.Contains("://", StringComparison.Ordinal) && !Path.Exists(Path.Combine(Path.GetDirectoryName(page)!, to)))
            .Select(to => $"{Path.GetRelativePath(Repository.Root, page)} -> {to}")));
    }

    [GeneratedRegex("^(Utils?|Helpers?|Common|Managers?|Misc)$")]
    private static partial Regex DrawerName();

    [GeneratedRegex(@"NotImplementedException|\bTODO\b|\bFIXME\b")]
    private static partial Regex Unfinished();

    [GeneratedRegex(@"\bSkip\s*=\s*""")]
    private static partial Regex SkippedTest();

    [GeneratedRegex(@"\]\(([^)\s]+)\)")]
    private static partial Regex Link();
}
