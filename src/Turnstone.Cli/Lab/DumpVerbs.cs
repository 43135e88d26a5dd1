using System.CommandLine;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Firmware;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>turnstone dump keep|compare|written</summary>
internal static class DumpVerbs
{
    public const string BookFile = "dumps.json";

    // Service areas are some hundred megabytes; what is larger is not a dump of firmware.
    private const long Largest = 1_000_000_000;

    public static Command Make(TimeProvider clock)
    {
        var dump = new Command("dump", "Keeps and compares ROM and service-area dumps. Turnstone sends no command to a drive's firmware.\n\nExample:\n  turnstone dump keep rom-1.bin --case 2026-014 --drive WQX4417KQ --kind rom --name rom --who \"R. Quell\"");
        foreach (Command verb in (Command[])[Keep(clock), Compare(), Written(clock)])
            dump.Subcommands.Add(verb);
        return dump;
    }

    private static Command Keep(TimeProvider clock)
    {
        var verb = new LabVerb("keep", "Keeps one take of a dump with its digest. Take it twice: nothing may be written before two takes agree.",
            "turnstone dump keep rom-1.bin --case 2026-014 --drive WQX4417KQ --kind rom --name rom --who \"R. Quell\"");
        Argument<string> file = verb.Argument<string>("file", "What the reading tool wrote.");
        WhatOptions what = WhatOptions.On(verb);
        return verb.Runs(run => run.Folder.Change(() =>
        {
            byte[] bytes = Bytes(run.Get(file)!);
            What of = what.Of(run);
            var take = new DumpTake(of.Case, of.Drive, of.Kind, of.Name, Path.GetFullPath(run.Get(file)!), bytes.Length, Sha256Digest.Of(bytes), clock.GetUtcNow(), of.Who);
            Stopping.StopOn(Book(run).TryKeep(take, out DumpBook book));
            KeepBytes(run.Folder, take, bytes);
            run.Folder.Write(BookFile, book);
            DumpStanding standing = book.Standing(of.Case, of.Drive, of.Kind, of.Name);
            return run.Output.Show(new { Take = take, Standing = standing }, o => o.Say($"Kept {take.Size} bytes, SHA-256 {take.Digest}. {Said(standing)}"), wrong: standing == DumpStanding.Differ);
        }));
    }

    private static Command Compare()
    {
        var verb = new LabVerb("compare", "Says which bytes differ between two dumps: two takes, or patient and donor.", "turnstone dump compare rom-1.bin rom-2.bin");
        Argument<string> first = verb.Argument<string>("first", "A dump."), second = verb.Argument<string>("second", "Another one.");
        return verb.Runs(run =>
        {
            DumpComparison comparison = DumpComparison.Of(Bytes(run.Get(first)!), Bytes(run.Get(second)!));
            return run.Output.Show(comparison, o => Differences(o, comparison), wrong: !comparison.Same);
        });
    }

    private static Command Written(TimeProvider clock)
    {
        var verb = new LabVerb("written", "Notes what was written back to a drive, when, by whom and what for. Refused where what stood there was not kept twice.",
            "turnstone dump written rom-new.bin --case 2026-014 --drive WQX4417KQ --kind rom --name rom --who \"R. Quell\" --why \"adaptives of the new heads\"");
        Argument<string> file = verb.Argument<string>("file", "The bytes that were written.");
        WhatOptions what = WhatOptions.On(verb);
        Option<string?> why = verb.Text("--why", "What for.", "TEXT", required: true);
        return verb.Runs(run => run.Folder.Change(() =>
        {
            What of = what.Of(run);
            var written = new WrittenBack(of.Case, of.Drive, of.Kind, of.Name, Sha256Digest.Of(Bytes(run.Get(file)!)), clock.GetUtcNow(), of.Who, run.Need(why));
            Stopping.StopOn(Book(run).TryNoteWritten(written, out DumpBook book));
            run.Folder.Write(BookFile, book);
            return run.Output.Show(written, o => o.Say($"Noted: {Words.Of(written.Kind)} '{written.Name}' of {written.Drive}, SHA-256 {written.Digest}, by {written.Who}."));
        }));
    }

    private static DumpBook Book(LabRun run) => run.Folder.Read(BookFile, DumpBook.Read, DumpBook.Empty);

    // Named by digest, so that a name from elsewhere never becomes a path here.
    private static void KeepBytes(LabFolder folder, DumpTake take, byte[] bytes)
    {
        Directory.CreateDirectory(folder.In("dumps"));
        Durable.Replace(folder.In(Path.Combine("dumps", take.Digest.Hex + ".bin")), bytes);
    }

    private static byte[] Bytes(string path)
    {
        var file = new FileInfo(path);
        if (!file.Exists)
            throw new BadInputException($"{path}: there is no such file");
        return file.Length <= Largest ? File.ReadAllBytes(path) : throw new BadInputException($"{path} has {file.Length} bytes; firmware dumps of up to {Largest} are kept here");
    }

    private static string Said(DumpStanding standing) => standing switch
    {
        DumpStanding.NotTaken => "Nothing is kept.",
        DumpStanding.TakenOnce => "One take: read the drive a second time into another file.",
        DumpStanding.Agreed => "Two takes agree.",
        DumpStanding.Differ => "The takes differ: compare them, find out why, read again. Nothing may be written.",
    };

    private static void Differences(LabOutput o, DumpComparison c)
    {
        o.Say(c.Same ? $"The same to the byte: {c.FirstSize} bytes, SHA-256 {c.FirstDigest}." : $"Different: {Words.Count(c.DifferingBytes, "byte")} in {Words.Count(c.Differences.Count, "stretch")} ({c.FirstSize} and {c.SecondSize} bytes).");
        o.Table("Stretches", ["offset", "bytes", "differ", "entropy, bits a byte", "text in the first", "text in the second"], c.Differences.Take(200).Select(d => (string[])
            [$"0x{d.Offset:X}", $"{d.Length}", $"{d.Differing}", $"{Bits(d.First)} / {Bits(d.Second)}", Text(d.First), Text(d.Second)]));
        if (c.Differences.Count > 200)
            o.Say($"The first 200 of {c.Differences.Count} stretches are shown; --json gives all.");
    }

    private static string Bits(StretchLook? look) => look is null ? "-" : look.EntropyBits.ToString("0.00");

    private static string Text(StretchLook? look) => string.Join(" ", look?.Strings.Take(4).Select(s => s.Length > 30 ? s[..30] + "…" : s) ?? []);

    private sealed record What(string Case, SerialNumber Drive, DumpKind Kind, string Name, string Who);

    private sealed record WhatOptions(Option<string?> Case, Option<string?> Drive, Option<string?> Kind, Option<string?> Name, Option<string?> Who)
    {
        public static WhatOptions On(LabVerb verb) => new(
            verb.Text("--case", "The case.", "NAME", required: true), verb.Text("--drive", "Serial number of the drive it came from.", "SERIAL", required: true),
            verb.Text("--kind", "rom or \"service area\".", "KIND", required: true), verb.Text("--name", "Name of the module; rom for a ROM.", "NAME", required: true), verb.Text("--who", "Who did.", "NAME", required: true));

        public What Of(LabRun run) => new(run.Need(Case), run.Need<SerialNumber>(Drive, SerialNumber.TryRead), run.Need<DumpKind>(Kind, Words.TryRead), run.Need(Name), run.Need(Who));
    }
}
