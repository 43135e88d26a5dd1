using System.Text;

namespace Turnstone.Lab.Documents;

/// <summary>Members of an enum as a person writes them: StuckHeads is 'stuck heads'.</summary>
public static class Words
{
    /// <summary>The member in words.</summary>
    public static string Of<T>(T member)
        where T : struct, Enum
    {
        var words = new StringBuilder();
        foreach (char c in member.ToString())
            words.Append(char.IsAsciiLetterUpper(c) && words.Length > 0 ? " " : "").Append(char.ToLowerInvariant(c));
        return words.ToString();
    }

    /// <summary>A number of things: '1 day', '2 days'.</summary>
    public static string Count(long number, string thing) => number == 1 ? $"1 {thing}" : $"{number} {(thing.EndsWith("ch", StringComparison.Ordinal) ? thing + "es" : thing + "s")}";

    /// <summary>Finds the member for the words, whatever their case.</summary>
    /// <returns>What is wrong and which words there are; null where it was found.</returns>
    public static string? TryRead<T>(string? text, out T member)
        where T : struct, Enum
    {
        foreach (T candidate in Enum.GetValues<T>())
        {
            if (string.Equals(Of(candidate), text?.Trim(), StringComparison.OrdinalIgnoreCase))
            {
                member = candidate;
                return null;
            }
        }

        member = default;
        return $"'{text}' is none of: {string.Join(", ", Enum.GetValues<T>().Select(Of))}";
    }
}
