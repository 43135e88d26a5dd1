using System.Globalization;

namespace Turnstone.Lab.Documents;

/// <summary>Lengths of time as people write them: '90 min', '1.5 h', '30 s', '180 d'.</summary>
public static class Durations
{
    /// <summary>Reads a number with its unit.</summary>
    /// <returns>What is wrong and what to write instead; null where it is right.</returns>
    public static string? TryRead(string? text, out TimeSpan time)
    {
        time = default;
        string trimmed = (text ?? "").Trim();
        int end = trimmed.AsSpan().LastIndexOfAnyInRange('0', '9') + 1;
        if (!double.TryParse(trimmed[..end], NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out double number))
            return $"'{text}' is no length of time; write it like '90 min'";
        double seconds = trimmed[end..].Trim() switch { "s" => 1, "min" => 60, "h" => 3600, "d" => 86_400, _ => 0 };
        if (seconds == 0)
            return $"'{text}' has no unit of time that is known; write s, min, h or d, like '90 min'";
        if (number * seconds > TimeSpan.MaxValue.TotalSeconds / 2)
            return $"'{text}' is longer than anything a lab does";
        time = TimeSpan.FromSeconds(number * seconds);
        return null;
    }

    /// <summary>The time in minutes, or in days where it is a whole number of them.</summary>
    public static string Write(TimeSpan time) => time >= TimeSpan.FromDays(1) && time.Ticks % TimeSpan.TicksPerDay == 0
        ? $"{time.Days} d"
        : $"{time.TotalMinutes.ToString("0.###", CultureInfo.InvariantCulture)} min";
}
