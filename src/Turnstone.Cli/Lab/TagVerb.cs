using System.CommandLine;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Tags;
using Turnstone.Papers.Labels;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone tag</summary>
internal static class TagVerb
{
    public static Command Make()
    {
        var verb = new LabVerb("tag", "Gives each drive in the lab the shortest end of its serial number that no other one has, and draws labels for drives and parts. A mark is a check for eyes, never the key of a record.",
            "turnstone tag WQX4417KQ WQX4404MT --for WQX4417KQ --part heads --part ramp --labels labels.pdf --stock a4-3x8");
        Argument<string[]> serials = verb.Argument<string[]>("serials", "Serial numbers of all drives now in the lab.", ArgumentArity.ZeroOrMore);
        Option<string?> file = verb.Text("--file", "A file with one serial number a line; lines that start with # are remarks.", "FILE"), only = verb.Text("--for", "Draw labels for this drive only.", "SERIAL");
        Option<string[]> parts = verb.Texts("--part", "A label for this part: heads, ramp, board, lid or platters. Without it the drive itself gets one.", "PART");
        Option<string?> labels = verb.Text("--labels", "Draw labels into this file, .pdf or .png.", "FILE"), stock = verb.Text("--stock", "Label stock, by its name in labels.json (usually roll-62x29).", "NAME");
        Option<string?> code = verb.Text("--code", "qr (usual) or \"data matrix\".", "KIND"), skip = verb.Text("--skip", "How many labels of the first sheet are gone already.", "N"), caseName = verb.Text("--case", "A line for the label, such as the case.", "NAME");
        return verb.Runs(run =>
        {
            string[] all = [.. run.Get(serials) ?? [], .. run.Get(file) is { } path ? Lines(path) : []];
            if (all.Length == 0)
                throw new BadInputException("no serial number was given; name all drives that are now in the lab");
            Bench bench = Tagging.Of(run.Get(file) ?? "serials", all).OrStop();
            string[] drawn = run.Get(labels) is { } into ? Draw(run, bench, into, new LabelOptions(only, parts, stock, code, skip, caseName)) : [];
            return run.Output.Show(new { bench.Tags, bench.NextClash, bench.AnyClash, Drawn = drawn }, o => People(o, bench, drawn));
        });
    }

    private static IEnumerable<string> Lines(string path) => File.Exists(path)
        ? File.ReadLines(path).Where(l => l.Trim().Length > 0 && l[0] != '#')
        : throw new BadInputException($"{path}: there is no such file");

    private static string[] Draw(LabRun run, Bench bench, string into, LabelOptions options)
    {
        Part?[] parts = [.. (run.Get(options.Parts) ?? []).Select(p => (Part?)LabRun.As<Part>("--part", p, Words.TryRead))];
        Tag[] tags = [.. bench.Tags.Where(t => run.Get(options.Only) is not { } one || t.Serial.Text.Equals(one.Trim(), StringComparison.OrdinalIgnoreCase))];
        if (tags.Length == 0)
            throw new BadInputException($"--for: '{run.Get(options.Only)}' is none of the serial numbers given");
        Label[] labels = [.. tags.SelectMany(t => (parts.Length > 0 ? parts : [null]).Select(p => new Label(p is { } part ? t.For(part) : t.Mark, t.Serial.Text, run.Get(options.Case) ?? "", t.Code(p))))];
        LabelStock paper = LabelStocks.Read(run.Shelf).OrStop().Find(run.Get(options.Stock) ?? "roll-62x29").OrStop();
        var print = new LabelPrint(paper, run.Or<CodeKind>(options.Code, Words.TryRead, CodeKind.Qr));
        return Path.GetExtension(into).ToLowerInvariant() switch
        {
            ".pdf" => Sheet(print, labels, into, Skip(run, options)),
            ".png" => Pictures(print, labels, into),
            _ => throw new BadInputException($"--labels: '{into}' must end in .pdf or .png"),
        };
    }

    private static int Skip(LabRun run, LabelOptions options) =>
        run.Get(options.Skip) is not { } text ? 0 : int.TryParse(text, out int count) && count is >= 0 and < 1000 ? count : throw new BadInputException($"--skip: '{text}' is no number of labels");

    private static string[] Sheet(LabelPrint print, Label[] labels, string into, int skip)
    {
        Stopping.StopOn(print.TryPdf(labels, skip, out byte[] pdf));
        File.WriteAllBytes(into, pdf);
        return [into];
    }

    // A label printer takes one picture a label: the second and further ones get a number before the ending.
    private static string[] Pictures(LabelPrint print, Label[] labels, string into)
    {
        var files = new List<string>();
        foreach (Label label in labels)
        {
            Stopping.StopOn(print.TryPng(label, out byte[] png));
            string file = files.Count == 0 ? into : Path.ChangeExtension(into, $"{files.Count + 1}.png");
            File.WriteAllBytes(file, png);
            files.Add(file);
        }

        return [.. files];
    }

    private static void People(LabOutput o, Bench bench, string[] drawn)
    {
        o.Table($"{bench.Tags.Count} drives in the lab", ["serial", "mark", "on parts", "mind"], bench.Tags.Select(t => (string[])
            [t.Serial.Text, t.Mark, string.Join(" ", Enum.GetValues<Part>().Select(t.For)), string.Join("; ", t.Warnings)]));
        o.Say($"With three characters alone: two of {bench.Tags.Count} drives end alike with {bench.AnyClash}, one more drive ends like one here with {bench.NextClash}; real serial numbers are more alike than that.");
        foreach (string file in drawn)
            o.Say($"Drawn: {file}");
    }

    private sealed record LabelOptions(Option<string?> Only, Option<string[]> Parts, Option<string?> Stock, Option<string?> Code, Option<string?> Skip, Option<string?> Case);
}
