using Turnstone.Media.Linux;

namespace Turnstone.Media.Target;

/// <summary>What must be settled before a read starts, for the patient's sake.</summary>
public static class TargetCheck
{
    /// <summary>Reasons why this source must not be read into that folder now; empty when all is well.</summary>
    /// <param name="address">The source as it was given.</param>
    /// <param name="folder">Folder of the read; need not exist yet.</param>
    /// <param name="image">The image file in it.</param>
    public static IReadOnlyList<string> Conflicts(string address, string folder, string image)
    {
        if (Network.NetworkAddress.Is(address) || FileFacts.Of(address) is not { } source)
            return [];
        FileFacts place = FileFacts.Of(ExistingFolder(folder))!;
        var reasons = new List<string>();
        if (FileFacts.Of(image) is { } target && IsSame(source, target))
            reasons.Add($"source and target are the same: {address} and {image}");
        if (source.Kind == FileKind.BlockDevice)
            reasons.AddRange(DeviceConflicts(address, source, place, image));
        else
            reasons.AddRange(DeviceUse.WritableUsesOfFile(address).Select(use => $"{use}, and {address} stands behind it: unmount it first, a mounted patient changes while it is read"));
        return reasons;
    }

    /// <summary>Bytes that are free for this user where the folder lies or will lie.</summary>
    public static long FreeBytes(string folder) => new DriveInfo(ExistingFolder(folder)).AvailableFreeSpace;

    private static IEnumerable<string> DeviceConflicts(string address, FileFacts source, FileFacts place, string image)
    {
        foreach (string use in DeviceUse.WritableUses(source.Device))
            yield return $"{use}: unmount it first, a mounted patient changes while it is read";
        if (DeviceUse.WholeDevice(place.On) == DeviceUse.WholeDevice(source.Device))
            yield return $"the target folder lies on the source itself, {address}: choose another drive";
        if (DeviceUse.FileBehind(source.Device) is { } behind && string.Equals(behind, Path.GetFullPath(image), StringComparison.Ordinal))
            yield return $"source and target are the same: {address} is served from {behind}";
    }

    private static bool IsSame(FileFacts source, FileFacts target) =>
        source.IsSameAs(target) || (source.Kind == FileKind.BlockDevice && target.Kind == FileKind.BlockDevice && source.Device == target.Device);

    private static string ExistingFolder(string folder)
    {
        string at = Path.GetFullPath(folder);
        while (!Directory.Exists(at))
            at = Path.GetDirectoryName(at) ?? "/";
        return at;
    }
}
