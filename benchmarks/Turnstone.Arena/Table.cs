using System.Text;
using Turnstone.Patients.Rehearsals;

namespace Turnstone.Arena;

/// <summary>The results as a Markdown table: one row for each family and strategy, median over seeds with the spread.</summary>
internal static class Table
{
    public static string Of(IReadOnlyList<Bout> bouts)
    {
        var text = new StringBuilder();
        text.AppendLine("| family | strategy | area, wish-weighted | area, all bytes | area, whole files | end, wish-weighted | end, all bytes | end, whole files | wear | heads lost |");
        text.AppendLine("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
        foreach (IGrouping<(string Family, string Strategy), Bout> row in bouts.GroupBy(b => (b.Family, b.Result.Strategy)))
        {
            string Spread(Func<Bout, double> value, string format) => Range([.. row.Select(value).Order()], format);
            string[] cells =
            [
                row.Key.Family, row.Key.Strategy,
                Spread(b => b.AreaShare(ValueKind.WishedBytes), "0.00"), Spread(b => b.AreaShare(ValueKind.Bytes), "0.00"), Spread(b => b.AreaShare(ValueKind.WholeFiles), "0.00"),
                Spread(b => b.EndShare(ValueKind.WishedBytes), "0.00"), Spread(b => b.EndShare(ValueKind.Bytes), "0.00"), Spread(b => b.EndShare(ValueKind.WholeFiles), "0.00"),
                Spread(b => b.Result.End.Wear, "0.00"), Spread(b => b.Result.DeadHeads, "0"),
            ];
            text.AppendLine($"| {string.Join(" | ", cells)} |");
        }

        return text.ToString();
    }

    /// <summary>Median, and in brackets the least and the most where they differ.</summary>
    private static string Range(double[] sorted, string format)
    {
        (string least, string middle, string most) = (sorted[0].ToString(format), sorted[sorted.Length / 2].ToString(format), sorted[^1].ToString(format));
        return least == most ? middle : $"{middle} ({least}-{most})";
    }
}
