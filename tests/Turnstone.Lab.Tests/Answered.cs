using Turnstone.Lab.Documents;

namespace Turnstone.Lab.Tests;

/// <summary>What tests ask of a read document.</summary>
internal static class Answered
{
    public static T Item<T>(this Understood<T> read) => read.Match(item => item, fault => throw new InvalidOperationException(fault.ToString()));

    public static Fault Fault<T>(this Understood<T> read) => read.Match(_ => throw new InvalidOperationException("expected a fault"), fault => fault);

    /// <summary>The shipped table with one piece of its text exchanged.</summary>
    public static TableShelf Edited(string file, string from, string to)
    {
        string text = TableShelf.Shipped[file];
        Assert.Contains(from, text);
        int at = text.IndexOf(from, StringComparison.Ordinal);
        return TableShelf.Shipped.With([(file, text[..at] + to + text[(at + from.Length)..])]).Item();
    }

    public static int LineOf(TableShelf shelf, string file, string piece) =>
        1 + shelf[file][..shelf[file].IndexOf(piece, StringComparison.Ordinal)].Count(c => c == '\n');
}
