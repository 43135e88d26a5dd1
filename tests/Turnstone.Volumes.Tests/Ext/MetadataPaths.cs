using System.Globalization;
using System.Text.RegularExpressions;
using Turnstone.Bench;
using Turnstone.Media;

namespace Turnstone.Volumes.Tests.Ext;

/// <summary>What must be held for one file to come out, asked of debugfs: where its inode, its folders and the blocks of its map lie.</summary>
internal sealed partial class MetadataPaths
{
    private readonly Dictionary<string, List<ByteRange>> _own = new(StringComparer.Ordinal);
    private readonly int _blockSize;
    private readonly List<ByteRange> _always;

    private MetadataPaths(OutsideVolume outside)
    {
        string header = Tool.Run("dumpe2fs", "-h", outside.Image);
        _blockSize = Number(header, "Block size:");
        int inodeSize = Number(header, "Inode size:");

        // The superblock and the first descriptors; small volumes have no more of them in these two stretches.
        _always = [new ByteRange(0, 8 * Math.Max(_blockSize, 1024))];
        string[] paths = ["", .. outside.Manifest.Where(line => !line.Deleted && line.Type is "file" or "dir").Select(line => line.Path)];
        string commands = Path.GetTempFileName();
        File.WriteAllLines(commands, paths.SelectMany(path => (string[])[$"imap \"/{path}\"", $"stat \"/{path}\""]));
        string[] answers = Tool.Run("debugfs", "-f", commands, outside.Image).Split("debugfs: imap ")[1..];
        File.Delete(commands);
        Assert.Equal(paths.Length, answers.Length);
        for (int i = 0; i < paths.Length; i++)
            _own.Add(paths[i], [.. Places(answers[i], inodeSize)]);
    }

    public static MetadataPaths Of(OutsideVolume outside) => new(outside);

    /// <summary>Whether everything is held that leads to the file, its own blocks among it.</summary>
    public bool IsHeld(string path, ISectorView view)
    {
        var needed = new List<ByteRange>(_always);
        for (string at = path; ; at = at.Contains('/') ? at[..at.LastIndexOf('/')] : "")
        {
            needed.AddRange(_own[at]);
            if (at.Length == 0)
                break;
        }

        return needed.All(range => !view.Missing(range).Any());
    }

    private static int Number(string text, string label) =>
        int.Parse(text[(text.IndexOf(label, StringComparison.Ordinal) + label.Length)..].TrimStart().Split('\n')[0], CultureInfo.InvariantCulture);

    private IEnumerable<ByteRange> Places(string answer, int inodeSize)
    {
        Match inode = InodePlace().Match(answer);
        long offset = (long.Parse(inode.Groups["block"].Value, CultureInfo.InvariantCulture) * _blockSize) + Convert.ToInt64(inode.Groups["offset"].Value, 16);
        yield return new ByteRange(offset, inodeSize);
        int blocks = answer.LastIndexOf("BLOCKS:\n", StringComparison.Ordinal);
        blocks = blocks < 0 ? answer.LastIndexOf("EXTENTS:\n", StringComparison.Ordinal) : blocks;
        foreach (Match run in BlockRun().Matches(blocks < 0 ? "" : answer[blocks..]))
        {
            long first = long.Parse(run.Groups["first"].Value, CultureInfo.InvariantCulture);
            long last = run.Groups["last"].Success ? long.Parse(run.Groups["last"].Value, CultureInfo.InvariantCulture) : first;
            yield return new ByteRange(first * _blockSize, (last - first + 1) * _blockSize);
        }
    }

    [GeneratedRegex(@"located at block (?<block>[0-9]+), offset (?<offset>0x[0-9a-fA-F]+)", RegexOptions.ExplicitCapture, 10_000)]
    private static partial Regex InodePlace();

    [GeneratedRegex(@"\([^)]*\):(?<first>[0-9]+)(-(?<last>[0-9]+))?", RegexOptions.ExplicitCapture, 10_000)]
    private static partial Regex BlockRun();
}
