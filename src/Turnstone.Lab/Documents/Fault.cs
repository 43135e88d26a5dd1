using System.Diagnostics;

namespace Turnstone.Lab.Documents;

/// <summary>What is wrong with a document that a person wrote or edited: where it stands and what to do.</summary>
/// <param name="File">Name of the document.</param>
/// <param name="Line">Counted from 1; 0 where the document as a whole is meant.</param>
/// <param name="Where">The place by names, like 'failures[3].prior'; may be empty.</param>
/// <param name="What">What stands there and what was expected.</param>
public sealed record Fault(string File, int Line, string Where, string What)
{
    /// <inheritdoc/>
    public override string ToString() =>
        $"{File}{(Line > 0 ? $", line {Line}" : "")}{(Where.Length > 0 ? $", {Where}" : "")}: {What}";
}

/// <summary>What a check found wrong, by place; the line is looked up in the text.</summary>
/// <param name="Where">Like 'failures[3].prior'.</param>
/// <param name="What">What stands there and what was expected.</param>
public readonly record struct Complaint(string Where, string What);

/// <summary>What came of reading a document: its value, or what is wrong with it.</summary>
/// <typeparam name="T">What the document holds.</typeparam>
public abstract record Understood<T>
{
    private Understood()
    {
    }

    /// <summary>The document makes sense.</summary>
    /// <param name="Item">What it holds.</param>
    public sealed record Value(T Item) : Understood<T>;

    /// <summary>The document makes no sense.</summary>
    /// <param name="Fault">The first thing wrong with it.</param>
    public sealed record Wrong(Fault Fault) : Understood<T>;

    /// <summary>Runs the function that belongs to the case.</summary>
    public TOut Match<TOut>(Func<T, TOut> value, Func<Fault, TOut> wrong) => this switch
    {
        Value v => value(v.Item),
        Wrong w => wrong(w.Fault),
        _ => throw new UnreachableException(),
    };

    /// <summary>Goes on with the value; a fault is handed through.</summary>
    public Understood<TOut> Then<TOut>(Func<T, Understood<TOut>> next) =>
        Match(next, fault => new Understood<TOut>.Wrong(fault));
}
