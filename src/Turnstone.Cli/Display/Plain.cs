using System.Globalization;

namespace Turnstone.Cli.Display;

/// <summary>Turns numbers into what a person can read at a glance.</summary>
internal static class Plain
{
    private static readonly string[] Units = ["B", "KiB", "MiB", "GiB", "TiB", "PiB"];

    /// <summary>Bytes with a unit and three digits: '1.49 GiB'.</summary>
    public static string Bytes(double bytes)
    {
        int unit = 0;
        for (; bytes >= 1024 && unit < Units.Length - 1; unit++)
            bytes /= 1024;
        string format = unit == 0 || bytes >= 100 ? "0" : bytes >= 10 ? "0.0" : "0.00";
        return $"{bytes.ToString(format, CultureInfo.InvariantCulture)} {Units[unit]}";
    }

    /// <summary>A share as per cent; never '100 %' for less than all, nor '0 %' for more than nothing.</summary>
    public static string Share(long part, long whole)
    {
        if (whole == 0 || part == whole)
            return whole == 0 ? "-" : "100 %";
        if (part == 0)
            return "0 %";
        double share = Math.Clamp(100.0 * part / whole, 0.01, 99.99);
        return share.ToString(share is > 1 and < 99 ? "0.0" : "0.00", CultureInfo.InvariantCulture) + " %";
    }

    /// <summary>A time as a person says it: '3 h 20 min', '45 s'.</summary>
    public static string Time(TimeSpan time) => time switch
    {
        { TotalSeconds: < 1 } => $"{time.TotalMilliseconds:0} ms",
        { TotalMinutes: < 1 } => $"{time.TotalSeconds:0} s",
        { TotalHours: < 1 } => $"{time.Minutes} min {time.Seconds:00} s",
        { TotalDays: < 2 } => $"{(int)time.TotalHours} h {time.Minutes:00} min",
        _ => $"{time.TotalDays:0.0} days",
    };
}
