using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Quotes;

/// <summary>Something that may happen in a case, with what it takes and what may come after it.</summary>
public sealed record QuoteNode
{
    /// <summary>What happens.</summary>
    public required string What { get; init; }

    /// <summary>How probable it is, given what came before; the branches of one node sum to 1.</summary>
    public required Probability Chance { get; init; }

    /// <summary>Time at the bench.</summary>
    public TimeSpan Bench { get; init; }

    /// <summary>Time at a station: a machine that reads.</summary>
    public TimeSpan Station { get; init; }

    /// <summary>What donors, media and consumables cost; null for nothing.</summary>
    public Money? Donors { get; init; }

    /// <summary>What the medium for the client costs; null for nothing.</summary>
    public Money? Media { get; init; }

    /// <summary>What is used up; null for nothing.</summary>
    public Money? Consumables { get; init; }

    /// <summary>At an end: how probable it is that the client's files come back.</summary>
    public Probability? Success { get; init; }

    /// <summary>What may come next; empty at an end.</summary>
    public IReadOnlyList<QuoteNode> Branches { get; init; } = [];

    /// <summary>Reads a tree and checks it: chances sum to 1, one currency, nothing negative, each end says its success.</summary>
    public static Understood<QuoteNode> Read(string file, string text, Currency currency) => LabDocument.Read<QuoteNode>(file, text, t => t.Check("", currency, 0));

    private IEnumerable<Complaint> Check(string where, Currency currency, int depth)
    {
        string dot = where.Length > 0 ? "." : "";
        if (depth > 40)
            return [new(where, "the tree is deeper than 40 branches")];
        var found = new List<Complaint>();
        foreach ((string name, Money? money) in new[] { ("donors", Donors), ("media", Media), ("consumables", Consumables) })
        {
            if (money is { } m && m.Currency != currency)
                found.Add(new($"{where}{dot}{name}", $"{m} is in another currency; the lab reckons in {currency}"));
            if (money is { Amount: < 0 })
                found.Add(new($"{where}{dot}{name}", $"{money}: a cost is not negative"));
        }

        double sum = Branches.Sum(b => b.Chance.Value);
        if (Branches.Count > 0 && Math.Abs(sum - 1) > 0.001)
            found.Add(new($"{where}{dot}branches", $"the chances sum to {sum:0.###}; expected 1"));
        if (Branches.Count == 0 && Success is null)
            found.Add(new(where, "an end of the tree must say its success"));
        return found.Concat(Branches.SelectMany((b, i) => b.Check($"{where}{dot}branches[{i}]", currency, depth + 1)));
    }
}
