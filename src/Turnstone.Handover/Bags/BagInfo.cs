using System.Globalization;
using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>The declaration that makes a folder a bag (RFC 8493, section 2.1.1).</summary>
internal static class Declaration
{
    /// <summary>Its name.</summary>
    public const string Name = "bagit.txt";

    /// <summary>Its two lines.</summary>
    public static byte[] Bytes => "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"u8.ToArray();
}

/// <summary>What the bag says about itself (RFC 8493, section 2.2.2).</summary>
internal static class BagInfo
{
    /// <summary>Its name.</summary>
    public const string Name = "bag-info.txt";

    /// <summary>Its lines; labels without a value are left out.</summary>
    public static IEnumerable<string> Lines(HandoverOrder order, long bytes, long files)
    {
        (string Label, string? Value)[] all =
        [
            ("Source-Organization", order.Organization),
            ("External-Identifier", order.Identifier),
            ("External-Description", order.Description),
            ("Bagging-Date", order.Clock.GetLocalNow().ToString("yyyy-MM-dd", CultureInfo.InvariantCulture)),
            ("Bag-Size", Size(bytes)),
            ("Payload-Oxum", $"{bytes}.{files}"),
        ];
        return all.Where(line => !string.IsNullOrWhiteSpace(line.Value)).Select(line => $"{line.Label}: {VisibleText.Of(line.Value!)}");
    }

    private static string Size(long bytes)
    {
        string[] units = ["bytes", "kB", "MB", "GB", "TB", "PB", "EB"];
        double size = bytes;
        int unit = 0;
        for (; size >= 1000; unit++)
            size /= 1000;
        return $"{size.ToString(unit == 0 ? "0" : "0.0", CultureInfo.InvariantCulture)} {units[unit]}";
    }
}
