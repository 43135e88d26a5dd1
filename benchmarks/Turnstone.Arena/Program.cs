using System.CommandLine;
using System.Diagnostics;
using Turnstone.Arena;
using Turnstone.Patients.Scenarios;

var set = new Option<string>("--set") { Description = "standard (1 TB patients, five seeds) or small (40 GB, two seeds)", DefaultValueFactory = _ => "small" };
set.AcceptOnlyFromAmong("standard", "small");
var folder = new Option<DirectoryInfo?>("--out") { Description = "where table, pictures and JSON go; without it the table is only printed" };
var families = new Option<string[]>("--family") { Description = "only this family; may be given several times", AllowMultipleArgumentsPerToken = true };
families.AcceptOnlyFromAmong([.. Families.All.Select(f => f.Name)]);
var seeds = new Option<int?>("--seeds") { Description = "how many patients of each family" };
var run = new RootCommand("Runs every reading strategy on every family of patients and measures what each brings.") { set, folder, families, seeds };

run.SetAction(parsed =>
{
    bool standard = parsed.GetValue(set) == "standard";
    string[] chosen = parsed.GetValue(families) ?? [];
    var plan = new ArenaSet(
        parsed.GetValue(set)!,
        standard ? 1000 : 40,
        parsed.GetValue(seeds) ?? (standard ? 5 : 2),
        [.. Families.All.Where(f => chosen.Length == 0 || chosen.Contains(f.Name))]);
    var watch = Stopwatch.StartNew();
    IReadOnlyList<Bout> bouts = plan.Run(Console.Error.WriteLine);
    Console.WriteLine(Table.Of(bouts));
    using var self = Process.GetCurrentProcess();
    string cost = $"{bouts.Count} rehearsals in {watch.Elapsed.TotalSeconds:0} s on two threads, {self.TotalProcessorTime.TotalSeconds:0} s of processor time, {self.PeakWorkingSet64 / 1e6:0} MB of memory at most";
    Console.WriteLine(cost);
    if (parsed.GetValue(folder) is { } into)
        Report.Write(into.FullName, plan, bouts, cost);
});

var sweep = new Command("speed", "Sweeps the 4 TB preset once in 1 MiB reads and says how long that took.");
sweep.SetAction(_ => Speed.Measure(Console.Out));
run.Subcommands.Add(sweep);

var into = new Argument<DirectoryInfo>("FOLDER") { Description = "where the scenario files go" };
var export = new Command("export", "Writes one patient of each family as a scenario file.") { into };
export.SetAction(parsed =>
{
    Directory.CreateDirectory(parsed.GetValue(into)!.FullName);
    foreach (Family family in Families.All)
        File.WriteAllText(Path.Combine(parsed.GetValue(into)!.FullName, family.Name + ".json"), ScenarioFile.Write(family.Make(1, 40)) + "\n");
});
run.Subcommands.Add(export);
return run.Parse(args).Invoke();
