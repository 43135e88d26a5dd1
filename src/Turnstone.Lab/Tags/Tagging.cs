using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Lab.Tags;

/// <summary>A part that comes off a drive.</summary>
public enum Part
{
    /// <summary>The head stack.</summary>
    Heads,

    /// <summary>The parking ramp.</summary>
    Ramp,

    /// <summary>The electronics board.</summary>
    Board,

    /// <summary>The lid.</summary>
    Lid,

    /// <summary>The platters as one stack.</summary>
    Platters,
}

/// <summary>The mark of one drive.</summary>
/// <param name="Serial">Its serial number.</param>
/// <param name="Mark">The shortest end of it that no other drive in the lab has.</param>
/// <param name="Warnings">What an eye may mistake.</param>
public sealed record Tag(SerialNumber Serial, string Mark, IReadOnlyList<string> Warnings)
{
    /// <summary>What stands on a part of the drive: the mark and the part in a word.</summary>
    public string For(Part part) => $"{Mark}-{Words.Of(part).ToUpperInvariant()}";

    /// <summary>What a label's code holds: the whole serial number and the part, in the characters that a QR code packs tightest.</summary>
    public string Code(Part? part) => part is { } p ? $"{Serial}/{Words.Of(p).ToUpperInvariant()}" : Serial.Text;
}

/// <summary>Marks for all drives in the lab.</summary>
/// <param name="Tags">One a drive, in the order given.</param>
/// <param name="NextClash">The chance that one more drive would end like one that is here, if ends were equally likely; real ones are not, so this is the best case.</param>
/// <param name="AnyClash">The chance that among so many drives at least two end alike in three characters, in the same best case.</param>
public sealed record Bench(IReadOnlyList<Tag> Tags, Probability NextClash, Probability AnyClash);

/// <summary>Marks parts with the end of their drive's serial number, as is common practice (no source).</summary>
/// <remarks>A mark is a check for human eyes, never the key of a record: that is the whole serial number with the case.</remarks>
public static class Tagging
{
    /// <summary>The fewest characters of a mark.</summary>
    public const int Shortest = 3;

    /// <summary>Labels of three characters from 0-9 and A-Z.</summary>
    public const double Ends = 36 * 36 * 36;

    /// <summary>Gives each drive its mark.</summary>
    /// <param name="file">Where the numbers come from, for messages.</param>
    /// <param name="serials">Serial numbers of all drives now in the lab.</param>
    /// <returns>The marks, or what is wrong: a serial number that is none, stands there twice, or is wholly the end of another one.</returns>
    public static Understood<Bench> Of(string file, IReadOnlyList<string> serials)
    {
        var read = new List<SerialNumber>();
        for (int i = 0; i < serials.Count; i++)
        {
            if (SerialNumber.TryRead(serials[i], out SerialNumber serial) is { } wrong)
                return Wrong(i, wrong);
            if (read.IndexOf(serial) is var twin && twin >= 0)
                return Wrong(i, $"serial number '{serial}' stands here twice, as number {twin + 1} and {i + 1}; one drive has one entry");
            read.Add(serial);
        }

        for (int i = 0; i < read.Count; i++)
        {
            if (read.FirstOrDefault(s => s != read[i] && s.Text.EndsWith(read[i].Text, StringComparison.Ordinal)) is { Text.Length: > 0 } longer)
                return Wrong(i, $"serial number '{read[i]}' is wholly the end of '{longer}', so no end of it is its own; use the lab's own number for this drive");
        }

        return new Understood<Bench>.Value(new Bench(WithWarnings(read, [.. read.Select(s => MarkOf(s, read))]), Probability.Near(Math.Min(1, read.Count / Ends)), AnyClash(Ends, read.Count)));

        Understood<Bench> Wrong(int index, string what) => new Understood<Bench>.Wrong(new Fault(file, 0, $"drive {index + 1}", what));
    }

    /// <summary>The chance that at least two of some drives share a label, all labels being equally likely.</summary>
    /// <param name="labels">How many labels there are.</param>
    /// <param name="drives">How many drives.</param>
    /// <remarks>The birthday problem: 1 − Π(1 − i/n), i = 0…k−1. Feller, An Introduction to Probability Theory and Its Applications I, II.3 (from memory).</remarks>
    public static Probability AnyClash(double labels, int drives)
    {
        double none = 1;
        for (int i = 0; i < drives; i++)
            none *= Math.Max(0, 1 - (i / labels));
        return Probability.Near(1 - none);
    }

    private static string MarkOf(SerialNumber serial, List<SerialNumber> all)
    {
        int length = Shortest;
        while (all.Any(s => s != serial && s.Text.EndsWith(serial.Text[^length..], StringComparison.Ordinal)))
            length++;
        return serial.Text[^length..];
    }

    private static IReadOnlyList<Tag> WithWarnings(List<SerialNumber> serials, string[] marks) => [.. serials.Select((serial, i) => new Tag(serial, marks[i], Warnings(marks, i)))];

    private static IReadOnlyList<string> Warnings(string[] marks, int index)
    {
        string mark = marks[index];
        IEnumerable<string> twins = marks.Where((m, i) => i != index && LookAlikes.Folded(m) == LookAlikes.Folded(mark)).Select(m => $"looks like {m}, which is also here");
        return [.. twins, .. LookAlikes.In(mark).Select(c => $"easily mistaken: {c}")];
    }
}
