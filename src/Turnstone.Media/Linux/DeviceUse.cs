namespace Turnstone.Media.Linux;

/// <summary>Who uses a block device or an image file at the moment, as the kernel's own lists tell.</summary>
/// <remarks>Formats: Linux Documentation/filesystems/proc.rst (mountinfo) and Documentation/ABI (sysfs block).</remarks>
public static class DeviceUse
{
    private const string Blocks = "/sys/class/block";

    /// <summary>Places where the device, a part of it, or something built on it is mounted so that it can be written to.</summary>
    /// <param name="device">The device, as <see cref="FileFacts.Device"/> gives it.</param>
    /// <returns>One sentence a place; empty when there is none.</returns>
    public static IReadOnlyList<string> WritableUses(DeviceNumber device)
    {
        List<string> names = [.. Names(device)];
        var numbers = names.Select(NumberOf).OfType<DeviceNumber>().Append(device).ToHashSet();
        return [.. Mounts()
            .Where(m => numbers.Contains(m.Device) && m.Writable)
            .Select(m => $"{m.Source} is mounted for writing at {m.Place}")];
    }

    /// <summary>Loop devices that serve this file, with the places where they are mounted for writing.</summary>
    public static IReadOnlyList<string> WritableUsesOfFile(string path)
    {
        var uses = new List<string>();
        foreach (string loop in LoopsOn(path))
        {
            if (NumberOf(loop) is { } number)
                uses.AddRange(WritableUses(number));
        }

        return uses;
    }

    /// <summary>The file that stands behind a loop device, or null.</summary>
    public static string? FileBehind(DeviceNumber device)
    {
        string path = $"/sys/dev/block/{device}/loop/backing_file";
        return File.Exists(path) ? File.ReadAllText(path).TrimEnd('\n') : null;
    }

    /// <summary>The whole drive that a partition belongs to; the device itself where it is no partition.</summary>
    public static DeviceNumber WholeDevice(DeviceNumber device)
    {
        string folder = $"/sys/dev/block/{device}";
        if (!File.Exists($"{folder}/partition"))
            return device;
        string parent = Path.GetDirectoryName(new DirectoryInfo(folder).ResolveLinkTarget(returnFinalTarget: true)?.FullName) ?? "";
        return NumberOf(Path.GetFileName(parent)) ?? device;
    }

    /// <summary>Model name and serial number as the kernel shows them; null where it shows none.</summary>
    public static (string? Model, string? Serial) Names(string device)
    {
        string folder = $"{Blocks}/{Path.GetFileName(Path.GetFullPath(device))}/device";
        return (Line($"{folder}/model"), Line($"{folder}/serial") ?? UnitSerial($"{folder}/vpd_pg80"));
    }

    // The device itself, its partitions, and what holds any of them (mapped devices), all the way up.
    private static HashSet<string> Names(DeviceNumber device)
    {
        var names = new HashSet<string>(StringComparer.Ordinal);
        var left = new Stack<string>(All().Where(n => NumberOf(n) == device));
        while (left.TryPop(out string? name))
        {
            if (!names.Add(name))
                continue;
            string folder = $"{Blocks}/{name}";
            foreach (string part in Folders(folder).Where(f => File.Exists($"{folder}/{f}/partition")))
                left.Push(part);
            foreach (string holder in Folders($"{folder}/holders"))
                left.Push(holder);
        }

        return names;
    }

    private static IEnumerable<string> LoopsOn(string path)
    {
        string full = Path.GetFullPath(path);
        return All().Where(name => string.Equals(Line($"{Blocks}/{name}/loop/backing_file"), full, StringComparison.Ordinal));
    }

    private static IEnumerable<string> All() => Folders(Blocks);

    private static IEnumerable<string> Folders(string folder) =>
        Directory.Exists(folder) ? Directory.EnumerateFileSystemEntries(folder).Select(Path.GetFileName).OfType<string>() : [];

    private static DeviceNumber? NumberOf(string name)
    {
        string[] parts = (Line($"{Blocks}/{name}/dev") ?? "").Split(':');
        return parts.Length == 2 ? new DeviceNumber(uint.Parse(parts[0]), uint.Parse(parts[1])) : null;
    }

    private static string? Line(string path)
    {
        try
        {
            string text = File.ReadAllText(path).Trim();
            return text.Length == 0 ? null : text;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    // Unit serial number page: four bytes of header, then text (SPC-4, 7.8.17, from memory).
    private static string? UnitSerial(string path)
    {
        try
        {
            byte[] page = File.ReadAllBytes(path);
            string text = page.Length > 4 ? System.Text.Encoding.ASCII.GetString(page[4..]).Trim('\0', ' ') : "";
            return text.Length == 0 ? null : text;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }

    private static IEnumerable<Mount> Mounts() =>
        File.ReadLines("/proc/self/mountinfo").Select(Mount.Parse).OfType<Mount>();

    private sealed record Mount(DeviceNumber Device, string Place, string Source, bool Writable)
    {
        // "36 35 98:0 /mnt1 /mnt2 rw,noatime master:1 - ext3 /dev/root rw,errors=continue"
        public static Mount? Parse(string line)
        {
            string[] f = line.Split(' ');
            int dash = Array.IndexOf(f, "-");
            if (f.Length < 6 || dash < 0 || dash + 3 >= f.Length)
                return null;
            string[] number = f[2].Split(':');
            string superOptions = f[dash + 3];
            return new Mount(new DeviceNumber(uint.Parse(number[0]), uint.Parse(number[1])), f[4], f[dash + 2], HasRw(superOptions));
        }

        private static bool HasRw(string options) => options.Split(',').Contains("rw", StringComparer.Ordinal);
    }
}
