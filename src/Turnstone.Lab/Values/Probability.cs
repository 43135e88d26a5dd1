namespace Turnstone.Lab.Values;

/// <summary>A chance, from 0 (never) to 1 (always).</summary>
public readonly record struct Probability : IComparable<Probability>
{
    /// <summary>Takes a chance between 0 and 1.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Below 0, above 1, or no number at all.</exception>
    public Probability(double value)
    {
        if (!(value >= 0 && value <= 1))
            throw new ArgumentOutOfRangeException(nameof(value), value, "a probability lies between 0 and 1");
        Value = value;
    }

    /// <summary>The chance as a fraction of one.</summary>
    public double Value { get; }

    /// <summary>The chance that it doesn't happen.</summary>
    public Probability Not => new(1 - Value);

    /// <summary>Takes what arithmetic gave and moves a rounding error past 0 or 1 back onto it.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Further out than a rounding error (1e-9), or no number at all.</exception>
    public static Probability Near(double value) =>
        value is > -1e-9 and < 1 + 1e-9 ? new(Math.Clamp(value, 0, 1)) : new(value);

    /// <inheritdoc/>
    public int CompareTo(Probability other) => Value.CompareTo(other.Value);

    /// <summary>Two digits; never rounded up to a certainty that the number doesn't claim.</summary>
    public override string ToString() => Value switch
    {
        0 => "0",
        1 => "1",
        > 0.99 => ">0.99",
        < 0.01 => "<0.01",
        _ => Value.ToString("0.00"),
    };
}

/// <summary>A number with the range that it lies in with the stated chance.</summary>
/// <param name="Low">Lower end.</param>
/// <param name="High">Upper end.</param>
/// <param name="Covers">How probable it is that the truth lies between the two.</param>
public readonly record struct ProbabilityRange(Probability Low, Probability High, Probability Covers)
{
    /// <inheritdoc/>
    public override string ToString() => $"{Low} to {High}";
}
