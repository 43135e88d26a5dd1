using System.Text;
using System.Text.Json;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Protocols;
using Turnstone.Lab.Signing;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>The lab's lines of what was signed: a file that only grows, each line carrying the digest of the one before.</summary>
/// <remarks>It keeps signed steps until the ledger of cases takes them over; docs/formats/lab-folder.md describes it.</remarks>
internal sealed class LabLedger(LabFolder folder)
{
    public const string File = "ledger.jsonl";

    /// <summary>What a line says.</summary>
    /// <param name="Kind">'signed step'.</param>
    /// <param name="Step">The signed step.</param>
    public sealed record Event(string Kind, SignedStep Step);

    /// <summary>Digest of the whole; keep it elsewhere to notice a tail that was cut off.</summary>
    public Sha256Digest Head => Check(Lines());

    /// <summary>All signed steps of a case, in order.</summary>
    public IReadOnlyList<SignedStep> Signed(string caseName)
    {
        List<string> lines = Lines();
        Check(lines);
        return [.. lines.Select((line, i) => Read(line, i + 1)).Select(e => e.Step).Where(s => s.Case == caseName)];
    }

    /// <summary>Adds a line and makes it durable; call it inside <see cref="LabFolder.Change"/>.</summary>
    public void Append(SignedStep step)
    {
        SetTornTailAside();
        string line = Chain.Line(Check(Lines()), JsonSerializer.Serialize(new Event("signed step", step), LabJson.OneLine)) + "\n";
        using (var file = new FileStream(folder.In(File), FileMode.Append, FileAccess.Write, FileShare.Read))
        {
            file.Write(Encoding.UTF8.GetBytes(line));
            file.Flush(flushToDisk: true);
        }

        Durable.SyncFolder(folder.Path);
    }

    // A line that lost its end in a crash was never answered for: it is kept apart, never thrown away.
    private void SetTornTailAside()
    {
        if (!System.IO.File.Exists(folder.In(File)))
            return;
        byte[] bytes = System.IO.File.ReadAllBytes(folder.In(File));
        int whole = bytes.AsSpan().LastIndexOf((byte)'\n') + 1;
        if (whole == bytes.Length)
            return;
        System.IO.File.WriteAllBytes(folder.In($"ledger.torn-{Sha256Digest.Of(bytes.AsSpan(whole)).Hex[..8]}"), bytes[whole..]);
        Durable.Replace(folder.In(File), bytes.AsSpan(0, whole));
    }

    private List<string> Lines()
    {
        if (!System.IO.File.Exists(folder.In(File)))
            return [];
        string text = System.IO.File.ReadAllText(folder.In(File));
        return [.. text[..(text.LastIndexOf('\n') + 1)].Split('\n', StringSplitOptions.RemoveEmptyEntries)];
    }

    private Sha256Digest Check(List<string> lines) => Chain.Check(lines).Match(
        whole => whole.Head,
        broken => throw new BadInputException($"{folder.In(File)}, line {broken.Line}: {broken.What}. Nothing is added to it; compare it with a copy"));

    private static Event Read(string line, int number) =>
        LabDocument.Read<Event>($"{File}, line {number}", Chain.EventOf(line)!).OrStop();
}
