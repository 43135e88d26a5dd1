using Turnstone.Bench;

namespace Turnstone.Cli.Tests;

/// <summary>What a user sees, kept as text beside the tests and reviewed as a difference.</summary>
/// <remarks>TURNSTONE_REDRAW=1 draws them anew; look at the difference before it is committed.</remarks>
internal static class Picture
{
    public static void IsSame(string name, string seen)
    {
        string path = Path.Combine(Repository.Root, "tests", "Turnstone.Cli.Tests", "Pictures", name + ".txt");
        string text = string.Join('\n', seen.ReplaceLineEndings("\n").Split('\n').Select(line => line.TrimEnd())).TrimEnd() + "\n";
        if (Environment.GetEnvironmentVariable("TURNSTONE_REDRAW") == "1")
            File.WriteAllText(path, text);
        Assert.Equal(File.ReadAllText(path), text);
    }
}
