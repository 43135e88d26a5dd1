using System.Runtime.CompilerServices;

namespace Turnstone.Bench;

/// <summary>Where the checkout lies, for tests that read what stands beside the code.</summary>
public static class Repository
{
    public static string Root { get; } = Find();

    private static string Find([CallerFilePath] string here = "")
    {
        for (DirectoryInfo? at = new FileInfo(here).Directory; at is not null; at = at.Parent)
        {
            if (File.Exists(Path.Combine(at.FullName, "Turnstone.slnx")))
                return at.FullName;
        }

        throw new DirectoryNotFoundException("Turnstone.slnx is in no folder above " + here);
    }
}
