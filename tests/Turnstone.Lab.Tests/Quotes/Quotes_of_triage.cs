using Turnstone.Lab.Documents;
using Turnstone.Lab.Protocols;
using Turnstone.Lab.Quotes;
using Turnstone.Lab.Tests.Protocols;
using Turnstone.Lab.Tests.Triage;
using Turnstone.Lab.Triage;

namespace Turnstone.Lab.Tests.Quotes;

public class Quotes_of_triage
{
    private static readonly TriageTable Table = TriageTable.Read(TableShelf.Shipped).Item();
    private static readonly CostTable Costs = CostTable.Read(TableShelf.Shipped).Item();

    [Fact]
    public void The_dropped_drive_gets_a_price_with_a_range_and_triages_outlook()
    {
        Quote quote = Of(Triage_of_the_shown_patients.Dropped);
        Assert.True(quote.Low < quote.Expected && quote.Expected < quote.High);
        Assert.True(quote.PriceLow < quote.Price && quote.Price < quote.PriceHigh);
        Assert.Equal(TriageReport.Of(Table, ClosedCases.None, Triage_of_the_shown_patients.Dropped).Outlook.Value, quote.Success.Value, 0.01);
    }

    [Fact]
    public void All_ways_together_are_certain() => Assert.Equal(1, Of(Triage_of_the_shown_patients.DroppedAndClicked).Ends.Sum(e => e.Chance.Value), 1e-9);

    [Fact]
    public void The_tree_reads_back_as_it_was_written()
    {
        QuoteNode tree = Tree(Triage_of_the_shown_patients.Dropped);
        Assert.Equal(Quote.Of(tree, Costs).Expected.Amount, Quote.Of(QuoteNode.Read("tree.json", LabDocument.Write(tree), Costs.Currency).Item(), Costs).Expected.Amount, 1);
    }

    [Fact]
    public void Every_consumable_of_every_protocol_has_a_price()
    {
        foreach ((string file, Protocol protocol) in Protocol.ReadAll(TableShelf.Shipped).Item())
            Assert.All(protocol.Steps.SelectMany(s => s.Uses), u => Assert.True(Costs.Consumables.ContainsKey(u.Item), $"{file}: {u.Item}"));
    }

    private static Quote Of(TriageFindings findings) => Quote.Of(Tree(findings), Costs);

    private static QuoteNode Tree(TriageFindings findings)
    {
        TriageReport report = TriageReport.Of(Table, ClosedCases.None, findings);
        return TriageTree.Of(report, Table, findings, Costs, Plans_for_drives.Made(report.First.Failure, Plans_for_drives.Portable));
    }
}
