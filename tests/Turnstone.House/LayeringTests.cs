using System.Xml.Linq;
using Turnstone.Bench;

namespace Turnstone.House;

/// <summary>The picture in docs/architecture.md: who may know whom. References point down, siblings don't know each other.</summary>
public class LayeringTests
{
    private static readonly Dictionary<string, string[]> MayKnow = new(StringComparer.Ordinal)
    {
        ["Media"] = [],
        ["Lab"] = [],
        ["Patients"] = ["Media"],
        ["Reading"] = ["Media"],
        ["Volumes"] = ["Media"],
        ["Content"] = ["Media"],
        ["Papers"] = ["Lab"],
        ["Findings"] = ["Media", "Reading", "Volumes", "Content"],
        ["Cases"] = ["Findings", "Lab"],
        ["Handover"] = ["Findings", "Cases", "Papers"],
        ["Desk"] = ["Handover", "Cases"],
        ["Cli"] = ["Handover", "Cases", "Patients", "Lab", "Papers", "Desk"],
    };

    public static TheoryData<string> Projects => [.. ProjectFiles().Select(file => Path.GetFileNameWithoutExtension(file)["Turnstone.".Length..])];

    [Theory]
    [MemberData(nameof(Projects))]
    public void No_arrow_points_up(string project) => Expect.None(Faults(project, Known(project)));

    [Fact]
    public void An_arrow_that_points_up_is_seen() =>
        Assert.Equal(["Media knows Reading, and the picture in docs/architecture.md draws no such arrow"], Faults("Media", ["Reading"]));

    private static IEnumerable<string> Faults(string project, IEnumerable<string> known)
    {
        if (!MayKnow.TryGetValue(project, out string[]? allowed))
            return [$"{project} is a room that the picture in docs/architecture.md does not show: draw it there and name its arrows in this test"];
        return known.Except(allowed).Select(other => $"{project} knows {other}, and the picture in docs/architecture.md draws no such arrow");
    }

    private static IEnumerable<string> Known(string project) =>
        XDocument.Load(ProjectFiles().Single(file => file.EndsWith($"Turnstone.{project}.csproj", StringComparison.Ordinal)))
            .Descendants("ProjectReference")
            .Select(reference => Path.GetFileNameWithoutExtension(reference.Attribute("Include")!.Value)["Turnstone.".Length..]);

    private static IEnumerable<string> ProjectFiles() => Directory.EnumerateFiles(Path.Combine(Repository.Root, "src"), "*.csproj", SearchOption.AllDirectories);
}
