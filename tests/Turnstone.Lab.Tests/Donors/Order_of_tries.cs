using Turnstone.Lab.Donors;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tests.Donors;

public class Order_of_tries
{
    private static readonly Currency Eur = new("EUR");
    private static readonly Money Value = new(1000, Eur);

    private static readonly Gen<Bet> AnyBet = Gen.Select(Gen.Double[0.01, 0.99], Gen.Double[0, 1], Gen.Int[0, 900])
        .Select((p, q, c) => new Bet($"{p}", new Probability(p), new Probability(q * (1 - p) * 0.5), new Money(c, Eur)));

    [Fact]
    public void No_order_and_no_earlier_stop_is_better_than_the_ratio_rules_on_stocks_of_up_to_six() =>
        AnyBet.Array[1, 6].Sample(bets => Math.Abs(BruteForce(bets) - (double)TryOrder.Best(bets, Value).ExpectedNet.Amount) < 0.01, iter: 300);

    [Fact]
    public void Nor_on_stocks_of_seven_and_eight() =>
        AnyBet.Array[7, 8].Sample(bets => Math.Abs(BruteForce(bets) - (double)TryOrder.Best(bets, Value).ExpectedNet.Amount) < 0.01, iter: 25);

    [Fact]
    public void Nor_on_the_invented_shelf_eight_donors_at_a_time()
    {
        foreach (Bet[] bets in Donors_on_the_shelf.Bets.Chunk(8))
            Assert.Equal(BruteForce(bets), (double)TryOrder.Best(bets, Value).ExpectedNet.Amount, 0.01);
    }

    [Fact]
    public void Brute_force_sees_a_wrong_rule() =>
        Assert.True(BruteForce([Bet(0.5, 400), Bet(0.9, 100)]) > TryOrder.NetOf([Bet(0.5, 400), Bet(0.9, 100)], Value) + 1);

    [Fact]
    public void With_no_risk_it_is_cost_over_chance_rising()
    {
        // Review of sequential testing: with one success enough and independent tries, ascending c/p is optimal (Mitten 1960; Unluyurt 2004, from memory).
        TryOrder order = TryOrder.Best([Bet(0.5, 100), Bet(0.2, 10), Bet(0.9, 300)], Value);
        Assert.Equal([50.0, 200, 333.33], order.Tries.Select(t => Math.Round((double)t.Bet.Cost.Amount / t.Bet.Works.Value, 2)));
    }

    [Fact]
    public void A_bet_that_costs_more_than_it_can_bring_is_left() =>
        Assert.Equal(0.05, Assert.Single(TryOrder.Best([Bet(0.05, 51), Bet(0.5, 100)], Value).Left).Works.Value);

    [Theory]
    // Weitzman, Econometrica 47(3), 1979: reservation price z solves c = p (prize - z). Cost 20, prize 240 with chance 0.2: z = 140 (his second example project, without discounting, from memory).
    [InlineData(0.2, 20, 240, 140)]
    [InlineData(1, 15, 100, 85)]
    public void Reservation_prices(double chance, double cost, double prize, double reservation)
    {
        PlacedBet placed = Assert.Single(TryOrder.Best([Bet(chance, cost)], new Money((decimal)prize, Eur)).Tries);
        Assert.Equal((reservation, reservation), ((double)placed.Reservation.Amount, (double)placed.Index.Amount));
    }

    [Fact]
    public void The_most_to_pay_is_where_buying_stops_to_gain() => Gen.Select(AnyBet.Array[0, 5], AnyBet).Sample((shelf, candidate) =>
    {
        Purchase most = Purchase.Weigh(shelf, candidate, Money.None(Eur), Money.None(Eur), Value);
        Purchase at = Purchase.Weigh(shelf, candidate, most.MostNow, Money.None(Eur), Value);
        return at.WorthNow && Math.Abs((at.NetBoughtNow - at.NetWithout).Amount) < 0.02m && !Purchase.Weigh(shelf, candidate, most.MostNow + new Money(0.01m, Eur), Money.None(Eur), Value).WorthNow;
    });

    [Fact]
    public void With_an_empty_shelf_the_most_to_pay_is_chance_times_value_less_labour()
    {
        Purchase purchase = Purchase.Weigh([], Bet(0.6, 250), new Money(300, Eur), new Money(20, Eur), Value);
        Assert.Equal((330, 330, true), (purchase.MostNow.Amount, purchase.MostWhenNeeded.Amount, purchase.WorthNow));
    }

    [Fact]
    public void Waiting_to_buy_until_its_turn_comes_is_never_worse() => Gen.Select(AnyBet.Array[0, 5], AnyBet, Gen.Int[0, 500]).Sample((shelf, candidate, price) =>
    {
        Purchase purchase = Purchase.Weigh(shelf, candidate, new Money(price, Eur), Money.None(Eur), Value);
        return purchase.NetBoughtWhenNeeded.Amount >= purchase.NetBoughtNow.Amount - 0.02m && purchase.MostWhenNeeded.Amount >= purchase.MostNow.Amount - 0.02m;
    });

    [Fact]
    public void Even_prices_from_nothing_to_one_give_the_root_of_twice_the_cost_of_a_look()
    {
        // Uniform prices on 0..1: s = R²/2. Stigler 1961 and McCall 1970 (from memory); here in units of 1000.
        Money[] prices = [.. Enumerable.Range(0, 1000).Select(i => new Money(i + 0.5m, Eur))];
        Assert.Equal(Math.Sqrt(2 * 0.02) * 1000, (double)Offers.Reservation(prices, new Money(20, Eur)).Amount, 0.5);
    }

    [Fact]
    public void No_other_price_to_stop_at_costs_less_than_the_reservation_price() => Gen.Select(Gen.Int[1, 500].Array[1, 8], Gen.Int[1, 100]).Sample((prices, look) =>
    {
        double reservation = (double)Offers.Reservation([.. prices.Select(p => new Money(p, Eur))], new Money(look, Eur)).Amount;
        double best = prices.Min(stop => Cost(prices, look, stop));
        return Math.Abs(best - reservation) < 0.01;
    });

    // Looking until a price at or below the stop is met.
    private static double Cost(int[] prices, int look, int stop)
    {
        int[] taken = [.. prices.Where(p => p <= stop)];
        return ((double)look * prices.Length / taken.Length) + taken.Average();
    }

    private static Bet Bet(double chance, double cost) => new($"{chance} for {cost}", new Probability(chance), new Probability(0), new Money((decimal)cost, Eur));

    // Every order of every subset: stopping early is trying fewer.
    private static double BruteForce(IReadOnlyList<Bet> bets)
    {
        double value = (double)Value.Amount;
        (double P, double S, double Gain)[] plain = [.. bets.Select(b => (b.Works.Value, 1 - b.Works.Value - b.Loses.Value, (b.Works.Value * value) - (double)b.Cost.Amount))];
        return Best(plain, 0, 1);
    }

    private static double Best((double P, double S, double Gain)[] bets, int used, double goesOn)
    {
        double best = 0;
        for (int i = 0; i < bets.Length; i++)
        {
            if ((used & (1 << i)) == 0)
                best = Math.Max(best, (goesOn * bets[i].Gain) + Best(bets, used | (1 << i), goesOn * bets[i].S));
        }

        return best;
    }
}
