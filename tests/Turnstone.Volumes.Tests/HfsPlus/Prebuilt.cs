using System.Security.Cryptography;
using System.Text;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Volumes.HfsPlus;

namespace Turnstone.Volumes.Tests.HfsPlus;

/// <summary>The volumes that an outside driver filled, and how they are asked.</summary>
internal static class Prebuilt
{
    private static readonly Dictionary<string, (OutsideVolume Outside, byte[] Bytes)> Kept = [];

    public static OutsideVolume Outside(string name) => Get(name).Outside;

    public static ISectorView View(string name) => new MemoryView(Get(name).Bytes);

    public static byte[] Bytes(string name) => (byte[])Get(name).Bytes.Clone();

    public static Volume? Open(ISectorView disk) => Open(disk, new ByteRange(0, disk.Length));

    public static Volume? Open(ISectorView disk, ByteRange part)
    {
        var view = new PartView(disk, part);
        return new HfsPlusFormat().Open(view, "whole").Concat(new HfsPlusCopyFormat().Open(view, "whole")).SingleOrDefault();
    }

    public static string Digest(Entry entry, ISectorView disk)
    {
        byte[] bytes = new byte[entry.Content!.Length];
        return entry.Content.TryRead(disk, 0, bytes) ? Convert.ToHexStringLower(SHA256.HashData(bytes)) : "not all held";
    }

    public static bool IsAvailable(Entry entry, ISectorView disk) => entry.Content is { } content && !content.Missing(disk).Any();

    /// <summary>The path as a manifest has it: the command line shows ':' for a '/' in a name.</summary>
    public static string PathOf(Entry entry) => entry.Path.ToString();

    public static IEnumerable<Entry> LiveFiles(Volume volume) =>
        volume.Entries().Where(e => !e.Deleted && e.Kind is EntryKind.File or EntryKind.Stream);

    private static (OutsideVolume Outside, byte[] Bytes) Get(string name)
    {
        lock (Kept)
        {
            if (!Kept.TryGetValue(name, out (OutsideVolume Outside, byte[] Bytes) kept))
            {
                OutsideVolume outside = OutsideVolume.Make("make-hfsplus.sh", name);
                Kept[name] = kept = (outside, File.ReadAllBytes(outside.Image));
            }

            return kept;
        }
    }
}
