using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Donors;

/// <summary>The shelf.</summary>
public sealed record Stock
{
    /// <summary>The one currency of all its prices.</summary>
    public required Currency Currency { get; init; }

    /// <summary>All donors, also used and spoiled ones.</summary>
    public required IReadOnlyList<Donor> Donors { get; init; }

    /// <summary>Reads the shelf: one currency, no serial number and no id twice.</summary>
    public static Understood<Stock> Read(string file, string text) => LabDocument.Read<Stock>(file, text, s => s.Check());

    /// <summary>The shelf with one donor more.</summary>
    /// <returns>What is wrong with it; null where nothing is.</returns>
    public string? TryAdd(Donor donor, out Stock stock)
    {
        stock = this with { Donors = [.. Donors, donor] };
        return stock.Check().Select(c => c.What).FirstOrDefault();
    }

    /// <summary>Moves a donor on in its life and books its cost.</summary>
    /// <param name="id">The donor.</param>
    /// <param name="to">Where it stands now.</param>
    /// <param name="caseName">The case that it is booked to; null where none.</param>
    /// <param name="on">The day.</param>
    /// <param name="note">In words.</param>
    /// <param name="stock">The shelf afterwards.</param>
    /// <returns>Why it can't be; null where it can.</returns>
    public string? TryMove(string id, DonorState to, string? caseName, DateOnly on, string note, out Stock stock)
    {
        stock = this;
        Donor? donor = Donors.FirstOrDefault(d => d.Id == id);
        if (donor is null)
            return $"no donor has the number '{id}'";
        if (!Follows(donor.State, to))
            return $"donor {id} is {Words.Of(donor.State)}; it can't become {Words.Of(to)}";
        if (to == DonorState.Used && caseName is null)
            return $"donor {id} can't be used without a case to book its cost to";
        Money booked = caseName is not null && to is DonorState.Used or DonorState.Spoiled && donor.History.All(e => e.Booked.Amount == 0) ? donor.Price : Money.None(Currency);
        Donor moved = donor with { State = to, History = [.. donor.History, new DonorEvent(on, to, caseName, booked, note)] };
        stock = this with { Donors = [.. Donors.Select(d => d.Id == id ? moved : d)] };
        return null;
    }

    private static bool Follows(DonorState from, DonorState to) => (from, to) switch
    {
        (DonorState.Bought, DonorState.Proven or DonorState.Used or DonorState.Spoiled) => true,
        (DonorState.Proven, DonorState.Used or DonorState.Spoiled) => true,
        (DonorState.Used, DonorState.Spoiled) => true,
        (DonorState.Bought or DonorState.Proven or DonorState.Used or DonorState.Spoiled, _) => false,
        _ => throw new ArgumentOutOfRangeException(nameof(from), from, "no state of a donor"),
    };

    private IEnumerable<Complaint> Check()
    {
        for (int i = 0; i < Donors.Count; i++)
        {
            Donor donor = Donors[i];
            if (donor.Price.Currency != Currency)
                yield return new($"donors[{i}].price", $"{donor.Price} is in another currency; this shelf is kept in {Currency}");
            if (donor.Price.Amount < 0)
                yield return new($"donors[{i}].price", $"{donor.Price}: a price is not negative");
            if (Donors.Take(i).Any(d => d.Serial == donor.Serial))
                yield return new($"donors[{i}].serial", $"serial number '{donor.Serial}' is on the shelf twice");
            if (Donors.Take(i).Any(d => d.Id == donor.Id))
                yield return new($"donors[{i}].id", $"number '{donor.Id}' is on the shelf twice");
            foreach (Complaint complaint in donor.Check($"donors[{i}]."))
                yield return complaint;
        }
    }
}
