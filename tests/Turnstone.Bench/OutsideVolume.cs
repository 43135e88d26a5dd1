using System.Diagnostics;
using System.Security.Cryptography;
using System.Text;
using Turnstone.Media;

namespace Turnstone.Bench;

/// <summary>A real volume made by outside tools, with the manifest that was read back through them.</summary>
/// <remarks>
/// A script in tests/volumes is called as 'SCRIPT FOLDER [ARGUMENTS]' and leaves 'image.raw' and 'manifest.tsv' there.
/// The result is kept in the temp folder under the digest of the script's folder and arguments, so it is made once a machine.
/// </remarks>
public sealed class OutsideVolume
{
    private OutsideVolume(string folder)
    {
        Image = Path.Combine(folder, "image.raw");
        Manifest = [.. File.ReadLines(Path.Combine(folder, "manifest.tsv")).Skip(1).Select(ManifestLine.Parse)];
        Folder = folder;
    }

    /// <summary>Where everything that the script made lies.</summary>
    public string Folder { get; }

    /// <summary>The disk image.</summary>
    public string Image { get; }

    /// <summary>One line a file, stream, link or folder.</summary>
    public IReadOnlyList<ManifestLine> Manifest { get; }

    /// <summary>Live files only.</summary>
    public IEnumerable<ManifestLine> LiveFiles => Manifest.Where(line => line is { Type: "file", Deleted: false });

    /// <summary>Makes the volume, or takes the one made before.</summary>
    /// <param name="script">File name in tests/volumes.</param>
    /// <param name="arguments">What the script takes after the folder.</param>
    public static OutsideVolume Make(string script, params string[] arguments)
    {
        string scripts = Path.Combine(Repository.Root, "tests", "volumes");
        string key = Key(scripts, script, arguments);
        string folder = Path.Combine(Path.GetTempPath(), "turnstone-volumes", key);
        Directory.CreateDirectory(Path.GetDirectoryName(folder)!);
        using FileStream turn = TakeTurn(folder + ".lock");
        if (!File.Exists(Path.Combine(folder, "manifest.tsv")))
            Run(Path.Combine(scripts, script), folder, arguments);
        return new OutsideVolume(folder);
    }

    /// <summary>The whole image as a view in which all is held.</summary>
    public ImageView Open(int sectorSize = 512) => new(Image, new SectorSize(sectorSize));

    private static void Run(string script, string folder, string[] arguments)
    {
        string half = folder + ".half";
        if (Directory.Exists(half))
            Directory.Delete(half, recursive: true);
        Directory.CreateDirectory(half);
        var start = new ProcessStartInfo("bash") { RedirectStandardError = true, RedirectStandardOutput = true, UseShellExecute = false };
        foreach (string argument in (string[])[script, half, .. arguments])
            start.ArgumentList.Add(argument);
        using Process process = Process.Start(start)!;
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        string errors = process.StandardError.ReadToEnd();
        process.WaitForExit();
        if (process.ExitCode != 0)
            throw new InvalidOperationException($"{script} ended with {process.ExitCode}: {errors}{output.Result}");
        Directory.Move(half, folder);
    }

    private static string Key(string scripts, string script, string[] arguments)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (string file in Directory.EnumerateFiles(scripts, "*.sh").Concat(Directory.EnumerateFiles(scripts, "*.py")).Order(StringComparer.Ordinal))
        {
            // A script of another volume kind must not spoil this one's cache; the shared ones start with "common".
            string name = Path.GetFileName(file);
            if (name == script || name.StartsWith("common", StringComparison.Ordinal))
                hash.AppendData(File.ReadAllBytes(file));
        }

        hash.AppendData(Encoding.UTF8.GetBytes(string.Join('\0', arguments)));
        return Path.GetFileNameWithoutExtension(script) + "-" + Convert.ToHexStringLower(hash.GetHashAndReset())[..16];
    }

    private static FileStream TakeTurn(string path)
    {
        while (true)
        {
            try
            {
                return new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
            }
            catch (IOException)
            {
                Thread.Sleep(100);
            }
        }
    }
}

/// <summary>One line of a manifest: what an outside tool says of one file.</summary>
/// <param name="Path">From the volume's root, '/' between names.</param>
/// <param name="Type">'file', 'dir', 'link' or 'stream'.</param>
/// <param name="Size">Bytes.</param>
/// <param name="Sha256">Of the content, lower-case hex; empty where there is none.</param>
/// <param name="Modified">Seconds since 1970 UTC, or null.</param>
/// <param name="Deleted">Whether it was deleted before the image was taken.</param>
/// <param name="Proof">'bytes': the image's bytes at the extents have this digest; 'gone': deleted and overwritten; 'unproven': no plain extents.</param>
/// <param name="Extents">File offset, image offset (null for a hole), length, all in bytes.</param>
/// <param name="VolumeOffset">Where the volume starts in the image.</param>
public sealed record ManifestLine(string Path, string Type, long Size, string Sha256, long? Modified, bool Deleted, string Proof, IReadOnlyList<(long FileOffset, long? ImageOffset, long Length)> Extents, long VolumeOffset)
{
    /// <summary>Columns: volumeOffset, path, type, size, sha256, mtime, deleted (0/1), proof, extents 'fileoffset:imageoffset|hole:length,...'.</summary>
    public static ManifestLine Parse(string line)
    {
        string[] c = line.Split('\t');
        return new ManifestLine(c[1], c[2], long.Parse(c[3]), c[4], c[5].Length == 0 ? null : (long)double.Parse(c[5]), c[6] == "1", c[7],
            [.. c[8].Split(',', StringSplitOptions.RemoveEmptyEntries).Select(Extent)], long.Parse(c[0]));
    }

    private static (long, long?, long) Extent(string text)
    {
        string[] p = text.Split(':');
        return (long.Parse(p[0]), p[1] == "hole" ? null : long.Parse(p[1]), long.Parse(p[2]));
    }
}
