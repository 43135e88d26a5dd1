using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Papers.Labels;

/// <summary>A kind of label: a sheet with a grid of them, or a roll.</summary>
/// <param name="Name">Its name in the table.</param>
/// <param name="PageWidth">Width of the sheet; of the label, on a roll.</param>
/// <param name="PageHeight">Height of the sheet; of the label, on a roll.</param>
/// <param name="Width">Width of one label.</param>
/// <param name="Height">Height of one label.</param>
/// <param name="Columns">Labels side by side.</param>
/// <param name="Rows">Labels one under the other.</param>
/// <param name="Left">From the sheet's left edge to the first label.</param>
/// <param name="Top">From the sheet's top edge to the first label.</param>
/// <param name="ColumnStep">From one label's left edge to the next one's.</param>
/// <param name="RowStep">From one label's top edge to the next one's.</param>
/// <param name="DotsPerInch">Of the printer.</param>
public sealed record LabelStock(
    string Name, Length PageWidth, Length PageHeight, Length Width, Length Height,
    int Columns, int Rows, Length Left, Length Top, Length ColumnStep, Length RowStep, int DotsPerInch)
{
    /// <summary>Labels on one sheet.</summary>
    public int PerPage => Columns * Rows;
}

/// <summary>The kinds of labels that a laboratory has; it edits the table.</summary>
public sealed record LabelStocks
{
    /// <summary>Name of the table's file.</summary>
    public const string File = "labels.json";

    /// <summary>Where the sizes come from.</summary>
    public required string Source { get; init; }

    /// <summary>Each kind.</summary>
    public required IReadOnlyList<LabelStock> Stocks { get; init; }

    /// <summary>Reads the table.</summary>
    public static Understood<LabelStocks> Read(TableShelf shelf) => shelf.Read<LabelStocks>(File, Check);

    /// <summary>The kind of that name, or which ones there are.</summary>
    public Understood<LabelStock> Find(string name) => Stocks.FirstOrDefault(s => s.Name == name) is { } stock
        ? new Understood<LabelStock>.Value(stock)
        : new Understood<LabelStock>.Wrong(new Fault(File, 0, "stocks", $"no stock is called '{name}'; there are {string.Join(", ", Stocks.Select(s => s.Name))}"));

    private static IEnumerable<Complaint> Check(LabelStocks table)
    {
        for (int i = 0; i < table.Stocks.Count; i++)
        {
            LabelStock s = table.Stocks[i];
            if (s.Columns < 1 || s.Rows < 1 || s.DotsPerInch is < 150 or > 2400)
                yield return new($"stocks[{i}]", "at least one column and one row, and 150 to 2400 dots per inch, are expected");
            else if (s.Left.Millimetres + ((s.Columns - 1) * s.ColumnStep.Millimetres) + s.Width.Millimetres > s.PageWidth.Millimetres + 0.1)
                yield return new($"stocks[{i}].columns", $"{s.Columns} labels are wider than the sheet");
            else if (s.Top.Millimetres + ((s.Rows - 1) * s.RowStep.Millimetres) + s.Height.Millimetres > s.PageHeight.Millimetres + 0.1)
                yield return new($"stocks[{i}].rows", $"{s.Rows} labels are higher than the sheet");
        }
    }
}
