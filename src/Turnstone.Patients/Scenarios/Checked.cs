using System.Diagnostics;

namespace Turnstone.Patients.Scenarios;

/// <summary>What came of reading a described drive: its value, or the place and the reason why not.</summary>
/// <remarks>These two cases are all there are.</remarks>
/// <typeparam name="T">What was described.</typeparam>
public abstract record Checked<T>
{
    private Checked()
    {
    }

    /// <summary>The description holds together.</summary>
    /// <param name="Item">What it describes.</param>
    public sealed record Value(T Item) : Checked<T>;

    /// <summary>It does not.</summary>
    /// <param name="JsonPath">Where: '$' for the whole text, '$.damage[2].head' for a field; empty where the file could not be read at all.</param>
    /// <param name="What">What is wrong there and what would be right.</param>
    public sealed record Refused(string JsonPath, string What) : Checked<T>
    {
        /// <summary>Place and reason in one line.</summary>
        public string Message => JsonPath.Length == 0 ? What : $"{JsonPath}: {What}";
    }

    /// <summary>Runs the function that belongs to the case.</summary>
    public TOut Match<TOut>(Func<T, TOut> value, Func<Refused, TOut> refused) => this switch
    {
        Value v => value(v.Item),
        Refused r => refused(r),
        _ => throw new UnreachableException(),
    };
}

/// <summary>Carries a refusal out of the depth of a description; never leaves this room.</summary>
#pragma warning disable CA1064 // caught where the reading began
internal sealed class ScenarioException(string path, string what) : Exception(what)
#pragma warning restore CA1064
{
    public string Path { get; } = path;
}
