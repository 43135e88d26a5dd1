namespace Turnstone.Volumes.Clusters;

/// <summary>Dates and times as FAT and exFAT pack them.</summary>
/// <remarks>Microsoft, exFAT file system specification, section 7.4.8; FAT: General Overview of On-Disk Format, 1.03 (from memory).</remarks>
internal static class DosTime
{
    /// <summary>The moment, or null where the bits are no date.</summary>
    /// <param name="date">Bits 0-4 day, 5-8 month, 9-15 year since 1980.</param>
    /// <param name="time">Bits 0-4 seconds halved, 5-10 minute, 11-15 hour.</param>
    /// <param name="hundredths">0 to 199 hundredths of a second more; other values count as none.</param>
    /// <param name="offset">Offset from UTC.</param>
    public static DateTimeOffset? Read(int date, int time, int hundredths, TimeSpan offset)
    {
        (int day, int month, int year) = (date & 31, (date >> 5) & 15, 1980 + (date >> 9));
        (int second, int minute, int hour) = ((time & 31) * 2, (time >> 5) & 63, time >> 11);
        bool isDate = month is >= 1 and <= 12 && day >= 1 && day <= DateTime.DaysInMonth(year, month);
        if (!isDate || hour > 23 || minute > 59 || second > 58)
            return null;
        return new DateTimeOffset(year, month, day, hour, minute, second, offset).AddMilliseconds(hundredths is > 0 and < 200 ? hundredths * 10 : 0);
    }
}
