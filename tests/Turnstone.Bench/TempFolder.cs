namespace Turnstone.Bench;

/// <summary>A folder that is gone with the test.</summary>
public sealed class TempFolder : IDisposable
{
    public TempFolder() => Directory.CreateDirectory(Path);

    public string Path { get; } = System.IO.Path.Combine(System.IO.Path.GetTempPath(), "turnstone-test-" + Guid.NewGuid().ToString("n"));

    public string this[string name] => System.IO.Path.Combine(Path, name);

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
