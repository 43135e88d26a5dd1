namespace Turnstone.Volumes.Ntfs;

/// <summary>What is known of one file from its record and the records that continue it.</summary>
/// <param name="header">Head of its base record.</param>
internal sealed class FileRecord(RecordHeader header)
{
    public RecordHeader Header => header;

    /// <summary>Times and flags, or null where they are not held.</summary>
    public StandardInformation? Info { get; set; }

    /// <summary>All names, of all name spaces.</summary>
    public List<FileName> Names { get; } = new(1);

    /// <summary>Its streams and whatever else was wanted.</summary>
    public List<AttributeFacts> Attributes { get; } = new(1);

    /// <summary>Whether it may have attributes that are not held.</summary>
    public bool IsCutShort { get; set; }

    /// <summary>What made no sense, or null.</summary>
    public string? Trouble { get; set; }

    /// <summary>The attribute, or null.</summary>
    public AttributeFacts? Find(AttributeType type, string name = "")
    {
        for (int i = 0; i < Attributes.Count; i++)
        {
            if (Attributes[i].Type == type && Attributes[i].Name == name)
                return Attributes[i];
        }

        return null;
    }

    /// <summary>The attribute, new where it was not known.</summary>
    public AttributeFacts Get(AttributeType type, string name)
    {
        if (Find(type, name) is { } facts)
            return facts;
        facts = new AttributeFacts(type, name);
        Attributes.Add(facts);
        return facts;
    }

    /// <summary>Names to show: a short DOS name only where its folder knows no other of the file.</summary>
    public IEnumerable<FileName> ShownNames() => Names.Where(IsShown);

    private bool IsShown(FileName name) =>
        name.Space != NameSpace.Dos || !Names.Exists(other => other.Space != NameSpace.Dos && other.Parent == name.Parent);
}
