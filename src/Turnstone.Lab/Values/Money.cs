using System.Globalization;

namespace Turnstone.Lab.Values;

/// <summary>A currency by its three-letter code (ISO 4217).</summary>
public readonly record struct Currency
{
    private readonly string? _code;

    /// <summary>Takes a code such as EUR.</summary>
    /// <exception cref="ArgumentException">Not three capital letters A to Z.</exception>
    public Currency(string code)
    {
        if (!IsCode(code))
            throw new ArgumentException($"'{code}' is not a currency code; three capital letters, like EUR", nameof(code));
        _code = code;
    }

    /// <summary>The three letters; XXX (ISO 4217: no currency) for a default value.</summary>
    public string Code => _code ?? "XXX";

    internal static bool IsCode(string? text) => text is { Length: 3 } && text.All(char.IsAsciiLetterUpper);

    /// <inheritdoc/>
    public override string ToString() => Code;
}

/// <summary>An amount in one currency. Amounts of two currencies never meet: a rate belongs to a day, and this room has no clock.</summary>
/// <param name="Amount">In whole units of the currency; may be negative.</param>
/// <param name="Currency">Which money.</param>
public readonly record struct Money(decimal Amount, Currency Currency) : IComparable<Money>
{
    /// <summary>Nothing, in that currency.</summary>
    public static Money None(Currency currency) => new(0, currency);

    /// <summary>An amount that arithmetic gave, rounded to a hundredth, halves away from zero.</summary>
    public static Money Of(double amount, Currency currency) =>
        new(Math.Round((decimal)amount, 2, MidpointRounding.AwayFromZero), currency);

    /// <summary>Sum.</summary>
    /// <exception cref="ArgumentException">Two currencies.</exception>
    public static Money operator +(Money left, Money right) => left with { Amount = left.Amount + left.Same(right).Amount };

    /// <summary>Difference.</summary>
    /// <exception cref="ArgumentException">Two currencies.</exception>
    public static Money operator -(Money left, Money right) => left with { Amount = left.Amount - left.Same(right).Amount };

    /// <summary>So many times the amount, not rounded.</summary>
    public static Money operator *(Money money, decimal times) => money with { Amount = money.Amount * times };

    /// <summary>Whether the left is the smaller amount.</summary>
    /// <exception cref="ArgumentException">Two currencies.</exception>
    public static bool operator <(Money left, Money right) => left.CompareTo(right) < 0;

    /// <summary>Whether the left is the larger amount.</summary>
    /// <exception cref="ArgumentException">Two currencies.</exception>
    public static bool operator >(Money left, Money right) => left.CompareTo(right) > 0;

    /// <summary>Whether the left is not the larger amount.</summary>
    /// <exception cref="ArgumentException">Two currencies.</exception>
    public static bool operator <=(Money left, Money right) => left.CompareTo(right) <= 0;

    /// <summary>Whether the left is not the smaller amount.</summary>
    /// <exception cref="ArgumentException">Two currencies.</exception>
    public static bool operator >=(Money left, Money right) => left.CompareTo(right) >= 0;

    /// <summary>Reads an amount and a code, such as '120.50 EUR'.</summary>
    /// <param name="text">What somebody wrote.</param>
    /// <param name="money">The amount, where it is one.</param>
    /// <returns>What is wrong and what to write instead; null where it is right.</returns>
    public static string? TryRead(string? text, out Money money)
    {
        money = default;
        string[] parts = (text ?? "").Split(' ', StringSplitOptions.RemoveEmptyEntries);
        if (parts.Length != 2 || !Currency.IsCode(parts[1]))
            return $"'{text}' names no currency; write it like '120.00 EUR'";
        if (!decimal.TryParse(parts[0], NumberStyles.AllowDecimalPoint | NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out decimal amount))
            return $"'{parts[0]}' is no amount; write it like '120.00 EUR', with a point and no thousands mark";
        money = new Money(amount, new Currency(parts[1]));
        return null;
    }

    /// <inheritdoc/>
    public int CompareTo(Money other) => Amount.CompareTo(Same(other).Amount);

    /// <inheritdoc/>
    public override string ToString() => $"{Amount.ToString("0.00", CultureInfo.InvariantCulture)} {Currency}";

    private Money Same(Money other) => other.Currency == Currency
        ? other
        : throw new ArgumentException($"{other} cannot be set against {this}: two currencies", nameof(other));
}
