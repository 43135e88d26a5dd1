using System.Diagnostics;

namespace Turnstone.Volumes;

/// <summary>What came of reading one structure: its value, where it stopped making sense, or that its bytes are not held.</summary>
/// <typeparam name="T">The structure.</typeparam>
public abstract record Parsed<T>
{
    private Parsed()
    {
    }

    /// <summary>The structure made sense.</summary>
    /// <param name="Item">What was read.</param>
    public sealed record Value(T Item) : Parsed<T>;

    /// <summary>The bytes are held and are not such a structure.</summary>
    /// <param name="At">Offset in the structure where it stopped making sense.</param>
    /// <param name="What">What stood there.</param>
    public sealed record Damaged(int At, string What) : Parsed<T>;

    /// <summary>The structure touches bytes that are not held: unknown, neither damaged nor zero. A better read may turn it.</summary>
    public sealed record NotHeld : Parsed<T>;

    /// <summary>The value, or null where there is none.</summary>
    public T? OrNone => this is Value v ? v.Item : default;

    /// <summary>Runs the function that belongs to the case.</summary>
    public TOut Match<TOut>(Func<T, TOut> value, Func<Damaged, TOut> damaged, Func<TOut> notHeld) => this switch
    {
        Value v => value(v.Item),
        Damaged d => damaged(d),
        NotHeld => notHeld(),
        _ => throw new UnreachableException(),
    };
}
