using System.Text.Json;
using Turnstone.Patients.Rehearsals;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Arena;

/// <summary>Writes a run of the arena: table, a picture for each family, JSON for programs.</summary>
internal static class Report
{
    private const int Samples = 30;
    private static readonly JsonSerializerOptions Plain = new() { PropertyNamingPolicy = JsonNamingPolicy.CamelCase, WriteIndented = false };

    public static void Write(string folder, ArenaSet set, IReadOnlyList<Bout> bouts, string cost)
    {
        Directory.CreateDirectory(folder);
        File.WriteAllText(Path.Combine(folder, "README.md"), Page(set, bouts, cost));
        File.WriteAllText(Path.Combine(folder, "results.json"), Json(set, bouts));
        foreach (IGrouping<string, Bout> family in bouts.GroupBy(b => b.Family))
            File.WriteAllText(Path.Combine(folder, family.Key + ".svg"), Picture.Of(set.Families.First(f => f.Name == family.Key), [.. family]));
    }

    private static string Page(ArenaSet set, IReadOnlyList<Bout> bouts, string cost) => $"""
        # The arena

        Made by `dotnet run -c Release --project benchmarks/Turnstone.Arena -- --set {set.Name} --out docs/arena`
        ({cost}). `--set small` is for daily use.

        Every strategy reads every patient: {set.Families.Count} families, {set.Seeds} seeds each, {set.Gigabytes:0} GB a patient. Time is virtual. A patient may be read for twice
        as long as the clairvoyant bound needs for all its bytes. Figures are shares of that bound: *area* is value times time under the curve, *end* is what is held when
        the time is up; median over the seeds, in brackets the least and the most. *Wear* is the sum over the heads, one unit is ten hours of plain work.

        The bound knows all damage and how long each head lives, pays for no positioning and no refusal, and takes the best sectors first; it has another order for each
        of the three values, so no single plan can have them all. What is worth what follows from the `files` of [a scenario](../formats/scenario.md).

        Strategies:
        {string.Join('\n', ArenaSet.Strategies.Select(s => $"- **{s.Name}**: {s.Description}"))}

        All damage figures of the families are assumptions within what [the format's page](../formats/scenario.md) gives. What wins here wins against this model, not yet against a drive.

        {Table.Of(bouts)}
        ## Pictures
        Mean over the seeds; the value axis is the share of all that the bound can ever have.

        {string.Join("\n\n", set.Families.Select(f => $"### {f.Name}\n{f.Description}\n\n![value against virtual time]({f.Name}.svg)"))}

        """;

    private static string Json(ArenaSet set, IReadOnlyList<Bout> bouts) => JsonSerializer.Serialize(new
    {
        set = set.Name,
        gigabytes = set.Gigabytes,
        seeds = set.Seeds,
        rows = bouts.Select(b => new
        {
            family = b.Family,
            seed = b.Seed,
            strategy = b.Result.Strategy,
            horizonSeconds = Math.Round(b.Horizon.TotalSeconds, 1),
            areaShare = Shares(b.AreaShare),
            endShare = Shares(b.EndShare),
            wear = Math.Round(b.Result.End.Wear, 4),
            deadHeads = b.Result.DeadHeads,
            asks = b.Result.Asks,
            refusals = b.Result.Refusals,
            silences = b.Result.Silences,
            powerCycles = b.Result.PowerCycles,
            curve = Enumerable.Range(0, Samples + 1).Select(i => b.Result.At(b.Horizon * i / Samples)).Select(p => (long[])[(long)p.Bytes, (long)p.WishedBytes, (long)p.WholeFileBytes]),
        }),
    }, Plain) + "\n";

    private static object Shares(Func<ValueKind, double> share) => new
    {
        bytes = Math.Round(share(ValueKind.Bytes), 4),
        wishedBytes = Math.Round(share(ValueKind.WishedBytes), 4),
        wholeFiles = Math.Round(share(ValueKind.WholeFiles), 4),
    };
}
