namespace Turnstone.Patients.Contents;

/// <summary>What stands on a simulated drive.</summary>
public abstract record ContentSpec
{
    private protected ContentSpec()
    {
    }

    /// <summary>Bytes that follow from the seed and the address: no sector is like another, and none is stored.</summary>
    public sealed record Seeded : ContentSpec;

    /// <summary>An image file from the first sector on; what lies past its end reads as zeros.</summary>
    /// <param name="Path">The file.</param>
    public sealed record Image(string Path) : ContentSpec;
}
