using Turnstone.Lab.Values;

namespace Turnstone.Lab.Donors;

/// <summary>Whether a donor on offer is worth its price.</summary>
/// <param name="NetWithout">Expected net value with what is on the shelf.</param>
/// <param name="NetBoughtNow">The same when the candidate is bought now: its price is spent whatever happens.</param>
/// <param name="NetBoughtWhenNeeded">The same when it is bought only when its turn comes.</param>
/// <param name="MostNow">The most to pay now.</param>
/// <param name="MostWhenNeeded">The most to pay when its turn comes.</param>
/// <param name="Price">What is asked.</param>
public sealed record Purchase(Money NetWithout, Money NetBoughtNow, Money NetBoughtWhenNeeded, Money MostNow, Money MostWhenNeeded, Money Price)
{
    /// <summary>Whether it is worth buying now.</summary>
    public bool WorthNow => Price <= MostNow;

    /// <summary>Whether it is worth buying when its turn comes.</summary>
    public bool WorthWhenNeeded => Price <= MostWhenNeeded;

    /// <summary>The advice in a sentence.</summary>
    public string Sentence => WorthNow ? $"Worth {Price} now: the most to pay is {MostNow}."
        : WorthWhenNeeded ? $"Not now (the most to pay is {MostNow}); worth {Price} if the shelf fails (up to {MostWhenNeeded})."
        : $"Not worth {Price}: the most to pay is {MostNow} now, {MostWhenNeeded} if the shelf fails.";

    /// <summary>Weighs the candidate.</summary>
    /// <param name="shelf">What may be tried already.</param>
    /// <param name="candidate">The candidate with its labour as cost, without its price.</param>
    /// <param name="price">What is asked.</param>
    /// <param name="waiting">What waiting for it costs the case.</param>
    /// <param name="value">What success is worth.</param>
    public static Purchase Weigh(IReadOnlyList<Bet> shelf, Bet candidate, Money price, Money waiting, Money value)
    {
        Money without = TryOrder.Best(shelf, value).ExpectedNet;
        Money owned = TryOrder.Best([.. shelf, candidate], value).ExpectedNet;
        Money paid = TryOrder.Best([.. shelf, candidate with { Cost = candidate.Cost + price + waiting }], value).ExpectedNet;
        Money gain = Money.Of((candidate.Works.Value * (double)value.Amount) - (double)(candidate.Cost + waiting).Amount, value.Currency);
        return new Purchase(without, owned - price - waiting, paid, NotBelowNone(owned - without - waiting), NotBelowNone(gain), price);
    }

    private static Money NotBelowNone(Money money) => money.Amount < 0 ? Money.None(money.Currency) : money;
}

/// <summary>When to take an offer and when to look on.</summary>
public static class Offers
{
    /// <summary>The price at or below which an offer is taken at once.</summary>
    /// <param name="prices">Prices seen lately, each as likely to be met again; at least one.</param>
    /// <param name="look">What one more look costs: time and waiting; above 0.</param>
    /// <remarks>R solves look = E[max(R − price, 0)]; Stigler, Journal of Political Economy 69(3), 1961, and McCall, Quarterly Journal of Economics 84(1), 1970 (from memory).</remarks>
    /// <exception cref="ArgumentException">No price, or a look that costs nothing.</exception>
    public static Money Reservation(IReadOnlyList<Money> prices, Money look)
    {
        if (prices.Count == 0 || look.Amount <= 0)
            throw new ArgumentException("at least one price and a look that costs something are needed", nameof(prices));
        decimal[] rising = [.. prices.Select(p => (p + Money.None(look.Currency)).Amount).Order()];
        decimal below = 0;
        for (int k = 1; ; k++)
        {
            below += rising[k - 1];
            // With the k cheapest below R: look = (k R − their sum) / n.
            decimal reservation = ((look.Amount * rising.Length) + below) / k;
            if (k == rising.Length || reservation <= rising[k])
                return new Money(Math.Round(reservation, 2, MidpointRounding.AwayFromZero), look.Currency);
        }
    }
}
