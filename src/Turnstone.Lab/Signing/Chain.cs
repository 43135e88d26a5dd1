using System.Diagnostics;
using System.Security.Cryptography;
using System.Text;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Signing;

/// <summary>What came of checking a chain of lines.</summary>
public abstract record ChainCheck
{
    private ChainCheck()
    {
    }

    /// <summary>Every line follows from the one before.</summary>
    /// <param name="Lines">How many.</param>
    /// <param name="Head">Digest of the whole; keep it outside the file to notice a tail that was cut off.</param>
    public sealed record Whole(int Lines, Sha256Digest Head) : ChainCheck;

    /// <summary>A line doesn't follow from the one before: something was changed, taken out, put in or moved.</summary>
    /// <param name="Line">Counted from 1: the first line that doesn't fit. The change is in it or in the line before.</param>
    /// <param name="What">What is wrong.</param>
    public sealed record Broken(int Line, string What) : ChainCheck;

    /// <summary>Runs the function that belongs to the case.</summary>
    public T Match<T>(Func<Whole, T> whole, Func<Broken, T> broken) => this switch
    {
        Whole w => whole(w),
        Broken b => broken(b),
        _ => throw new UnreachableException(),
    };
}

/// <summary>Lines of which each carries the digest of the one before, so that nothing can be changed or taken out unseen.</summary>
/// <remarks>
/// h(0) is 32 zero bytes; h(i) = SHA-256(h(i-1) followed by the exact bytes of event i). Line i reads
/// <c>{"before":"h(i-1)","event":{...}}</c>. A cut tail or a whole rewrite is found only against a head that was kept elsewhere.
/// </remarks>
public static class Chain
{
    private const string Before = "{\"before\":\"", Event = "\",\"event\":", End = "}";

    /// <summary>The line for an event.</summary>
    /// <param name="head">Digest after the last line.</param>
    /// <param name="json">The event: one JSON object on one line.</param>
    /// <exception cref="ArgumentException">The event has a line break.</exception>
    public static string Line(Sha256Digest head, string json) => json.AsSpan().ContainsAny('\n', '\r')
        ? throw new ArgumentException("an event stands on one line", nameof(json))
        : Before + head.Hex + Event + json + End;

    /// <summary>The digest after one more event.</summary>
    public static Sha256Digest After(Sha256Digest head, string json)
    {
        byte[] bytes = [.. Convert.FromHexString(head.Hex), .. Encoding.UTF8.GetBytes(json)];
        return new Sha256Digest(Convert.ToHexStringLower(SHA256.HashData(bytes)));
    }

    /// <summary>The event of a line; null where the line hasn't the form of one.</summary>
    public static string? EventOf(string line) => IsLine(line) ? line[(Before.Length + 64 + Event.Length)..^End.Length] : null;

    /// <summary>Checks all lines from the first one on.</summary>
    public static ChainCheck Check(IEnumerable<string> lines)
    {
        Sha256Digest head = Sha256Digest.Zero;
        int number = 0;
        foreach (string line in lines)
        {
            number++;
            if (EventOf(line) is not { } json)
                return new ChainCheck.Broken(number, "the line has not the form of a ledger line");
            if (line.AsSpan(Before.Length, 64) is var carried && !carried.SequenceEqual(head.Hex))
                return new ChainCheck.Broken(number, "the line does not follow from the one before: one of the two was changed, or a line was taken out, put in or moved");
            head = After(head, json);
        }

        return new ChainCheck.Whole(number, head);
    }

    private static bool IsLine(string line) =>
        line.Length > Before.Length + 64 + Event.Length + End.Length
        && line.StartsWith(Before, StringComparison.Ordinal)
        && line.AsSpan(Before.Length + 64).StartsWith(Event)
        && line.EndsWith(End, StringComparison.Ordinal)
        && Sha256Digest.IsHex(line.Substring(Before.Length, 64));
}
