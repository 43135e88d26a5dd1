using Turnstone.Media;

namespace Turnstone.Volumes.Ntfs;

/// <summary>One attribute of a file put together from all records that hold a part of it.</summary>
/// <param name="type">Its kind.</param>
/// <param name="name">Its name; empty for the unnamed one.</param>
internal sealed class AttributeFacts(AttributeType type, string name)
{
    /// <summary>Attribute flag: packed by clusters.</summary>
    public const int CompressedFlag = 0x00FF;

    /// <summary>Attribute flag: encrypted.</summary>
    public const int EncryptedFlag = 0x4000;

    private IReadOnlyList<Run>? _first;
    private List<(long FirstVcn, IReadOnlyList<Run> Runs)>? _more;

    public AttributeType Type => type;

    public string Name => name;

    public int Flags { get; private set; }

    /// <summary>Bytes of the attribute, or null where the part that tells them is not held.</summary>
    public long? Size { get; private set; }

    /// <summary>Bytes that were ever written; what follows reads as zeros.</summary>
    public long ValidSize { get; private set; }

    /// <summary>Logarithm of the clusters packed together; 0 when nothing is packed.</summary>
    public int UnitShift { get; private set; }

    /// <summary>Value of a resident attribute; null for one with runs.</summary>
    public byte[]? Value { get; private set; }

    /// <summary>Parts of the value that are not held.</summary>
    public IReadOnlyList<ByteRange> ValueHoles { get; private set; } = [];

    /// <summary>What made no sense, or null.</summary>
    public string? Trouble { get; private set; }

    /// <summary>Takes the part that a record holds.</summary>
    public void Add(AttributeView part, NtfsLayout layout, Strides good)
    {
        if (!part.HasHead)
            return;
        if (part.IsResident)
            AddValue(part, good);
        else
            AddRuns(part, layout);
    }

    /// <summary>All runs from the first cluster on; a part that is not held leaves an unknown run, and so does a list that breaks off.</summary>
    public IReadOnlyList<Run> Runs()
    {
        if (_more is null)
            return _first ?? [];
        var runs = new List<Run>(_first ?? []);
        long covered = runs.Sum(run => run.Count);
        foreach ((long first, IReadOnlyList<Run> part) in _more.OrderBy(told => told.FirstVcn))
        {
            // Two parts that claim the same clusters cannot both be right: the earlier stands.
            if (first < covered)
            {
                Trouble ??= "two parts of its run list claim the same clusters";
                continue;
            }

            if (first > covered)
                runs.Add(new Run(first - covered, Run.Unknown));
            runs.AddRange(part);
            covered = first + part.Sum(run => run.Count);
        }

        return runs;
    }

    private void AddValue(AttributeView part, Strides good)
    {
        if (Size is not null)
            return;
        if (!part.TryValue(out ReadOnlySpan<byte> value, out int place))
        {
            Trouble = "value reaches out of its attribute";
            return;
        }

        Flags = part.Flags;
        Value = value.ToArray();
        Size = ValidSize = value.Length;
        if (!good.AreAllGood)
            ValueHoles = good.Holes(place, value.Length);
    }

    private void AddRuns(AttributeView part, NtfsLayout layout)
    {
        long first = part.FirstVcn, last = part.LastVcn;
        if (Value is not null || first < 0 || last < first - 1 || last >= layout.AttributeClustersMax)
        {
            Trouble = $"runs of clusters {first} to {last}";
            return;
        }

        if (first == 0 && !AddSizes(part))
            return;
        RunList runs = RunList.Read(part.Runs, last - first + 1, layout.Boot.Clusters);
        Trouble ??= runs.Trouble;
        if (first == 0)
            _first = runs.Runs;
        else
            (_more ??= []).Add((first, runs.Runs));
    }

    private bool AddSizes(AttributeView part)
    {
        if (Size is not null)
            return false;
        if (part.Size is < 0 or > 1L << 60 || part.CompressionUnit > 8)
        {
            Trouble = $"size {part.Size}, compression unit {part.CompressionUnit}";
            return false;
        }

        Flags = part.Flags;
        Size = part.Size;
        ValidSize = Math.Clamp(part.ValidSize, 0, part.Size);
        UnitShift = (part.Flags & CompressedFlag) != 0 ? part.CompressionUnit : 0;
        return true;
    }
}
