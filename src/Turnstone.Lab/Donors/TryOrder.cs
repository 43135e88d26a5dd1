using Turnstone.Lab.Values;

namespace Turnstone.Lab.Donors;

/// <summary>A donor as a bet.</summary>
/// <param name="Donor">The lab's number of the donor.</param>
/// <param name="Works">The chance that it works.</param>
/// <param name="Loses">The chance that the try loses the patient; the two together are at most 1.</param>
/// <param name="Cost">What the try costs: labour, and the donor where it counts.</param>
public sealed record Bet(string Donor, Probability Works, Probability Loses, Money Cost);

/// <summary>A bet in its place.</summary>
/// <param name="Bet">Which.</param>
/// <param name="Index">Net value over the chance that the case is decided; tried in falling order while above 0.</param>
/// <param name="Reservation">Value less cost over chance: with no risk of loss, the sure offer at which one would rather stop.</param>
/// <param name="Reached">The chance that it comes to this try.</param>
public sealed record PlacedBet(Bet Bet, Money Index, Money Reservation, Probability Reached);

/// <summary>In which order to try donors, and when to stop.</summary>
/// <param name="Tries">What to try, in order.</param>
/// <param name="Left">What isn't worth a try.</param>
/// <param name="ExpectedNet">Expected value less cost.</param>
/// <param name="Success">The chance that one of them works.</param>
/// <param name="Lost">The chance that a try loses the patient.</param>
/// <remarks>
/// One success is enough, tries are independent, a try may end the case. Ratio rule: index (pV − c) / (p + q), falling, while above 0;
/// without risk it is V − c/p, the reservation price of Weitzman (Econometrica 47(3), 1979) for a prize won with chance p.
/// Exchange argument: the worth of i then j less that of j then i has the sign of g(i)(p(j) + q(j)) − g(j)(p(i) + q(i)), g = pV − c.
/// Chances learnt from one another make it a rule of thumb: rank again after each try.
/// </remarks>
public sealed record TryOrder(IReadOnlyList<PlacedBet> Tries, IReadOnlyList<Bet> Left, Money ExpectedNet, Probability Success, Probability Lost)
{
    /// <summary>Finds the order.</summary>
    /// <param name="bets">Donors that are not ruled out.</param>
    /// <param name="value">What success is worth.</param>
    public static TryOrder Best(IReadOnlyList<Bet> bets, Money value)
    {
        Bet[] falling = [.. bets.OrderByDescending(b => Index(b, value)).ThenBy(b => b.Donor, StringComparer.Ordinal)];
        var placed = new List<PlacedBet>();
        double goesOn = 1, net = 0, success = 0, lost = 0;
        foreach (Bet bet in falling.Where(b => Index(b, value) > 0))
        {
            placed.Add(new PlacedBet(bet, Money.Of(Index(bet, value), value.Currency), Reservation(bet, value), Probability.Near(goesOn)));
            net += goesOn * Gain(bet, value);
            success += goesOn * bet.Works.Value;
            lost += goesOn * bet.Loses.Value;
            goesOn *= 1 - bet.Works.Value - bet.Loses.Value;
        }

        return new TryOrder(placed, [.. falling.Where(b => Index(b, value) <= 0)], Money.Of(net, value.Currency), Probability.Near(success), Probability.Near(lost));
    }

    /// <summary>Expected net value of trying in just that order to the end, in units of the value's currency.</summary>
    internal static double NetOf(IEnumerable<Bet> order, Money value)
    {
        double goesOn = 1, net = 0;
        foreach (Bet bet in order)
        {
            net += goesOn * Gain(bet, value);
            goesOn *= 1 - bet.Works.Value - bet.Loses.Value;
        }

        return net;
    }

    private static double Index(Bet bet, Money value) =>
        bet.Works.Value + bet.Loses.Value > 0 ? Gain(bet, value) / (bet.Works.Value + bet.Loses.Value) : double.NegativeInfinity;

    private static Money Reservation(Bet bet, Money value) => Money.Of((double)value.Amount - ((double)bet.Cost.Amount / bet.Works.Value), value.Currency);

    private static double Gain(Bet bet, Money value) => (bet.Works.Value * (double)value.Amount) - (double)(bet.Cost + Money.None(value.Currency)).Amount;
}
