using System.Buffers.Binary;

namespace Turnstone.Volumes.ExFat;

/// <summary>The volume's own idea of upper case.</summary>
/// <remarks>Microsoft, exFAT file system specification, section 7.2: FFFF followed by a count stands for letters that stay as they are.</remarks>
internal sealed class UpCaseTable
{
    private readonly char[] _upper;

    private UpCaseTable(char[] upper) => _upper = upper;

    /// <summary>Only the 128 letters that every table has to map alike.</summary>
    public static UpCaseTable Plain { get; } = new([.. Enumerable.Range(0, 128).Select(c => char.ToUpperInvariant((char)c))]);

    /// <summary>Reads a table; what it does not reach stays as it is.</summary>
    public static UpCaseTable Read(ReadOnlySpan<byte> table)
    {
        var upper = new List<char>();
        for (int at = 0; at + 1 < table.Length && upper.Count <= char.MaxValue; at += 2)
        {
            char unit = (char)BinaryPrimitives.ReadUInt16LittleEndian(table[at..]);
            if (unit != char.MaxValue || at + 3 >= table.Length)
            {
                upper.Add(unit);
                continue;
            }

            at += 2;
            int same = BinaryPrimitives.ReadUInt16LittleEndian(table[at..]);
            for (int i = 0; i < same && upper.Count <= char.MaxValue; i++)
                upper.Add((char)upper.Count);
        }

        return new UpCaseTable([.. upper]);
    }

    /// <summary>A name in upper case.</summary>
    public string Upper(string name) => string.Create(name.Length, (name, _upper), static (into, from) =>
    {
        for (int i = 0; i < into.Length; i++)
            into[i] = from.name[i] < from._upper.Length ? from._upper[from.name[i]] : from.name[i];
    });
}
