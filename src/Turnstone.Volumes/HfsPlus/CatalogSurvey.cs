namespace Turnstone.Volumes.HfsPlus;

/// <summary>First walk over the catalog: which nodes there are, where folders stand, which files are linked.</summary>
internal sealed class CatalogSurvey
{
    private readonly LeafSurvey _leaves;

    public CatalogSurvey(BTreeFile catalog)
    {
        _leaves = LeafSurvey.Of(catalog);
        IsComplete = _leaves.IsComplete;
        foreach (LeafNode leaf in _leaves.Live)
            Collect(catalog.Read(leaf.Number), leaf);
        Links.Rename(Folders);
    }

    public IReadOnlyList<LeafNode> Live => _leaves.Live;

    public IReadOnlyList<LeafNode> Stale => _leaves.Stale;

    /// <summary>Nodes of which the first bytes are not held, so that nothing but scraps can be had of them.</summary>
    public IReadOnlyList<uint> Headless => _leaves.Headless;

    /// <summary>Whether every record of the catalog is held.</summary>
    public bool IsComplete { get; private set; }

    public FolderTree Folders { get; } = new();

    public HardLinks Links { get; } = new();

    private void Collect(BTreeNode node, LeafNode leaf)
    {
        IsComplete &= node.IsLeaf && node.IsSound;
        for (int i = 0; node.IsLeaf && i < node.Found; i++)
        {
            CatalogRecord record = CatalogRecord.Of(node.Record(i));
            if (record.Type == CatalogRecordType.Folder)
                NoteFolder(record.Id, record.Parent, record.Name, leaf.Standing);
            else if (record.Type == CatalogRecordType.FolderThread)
                NoteFolder(record.Id, record.ThreadParent, record.ThreadName, leaf.Standing);
            else if (record.Type == CatalogRecordType.File)
                Links.NoteFile(record, new RecordPlace(leaf, i));
        }
    }

    private void NoteFolder(uint id, uint parent, string name, Standing standing)
    {
        Folders.Add(id, parent, name, standing);
        Links.NoteFolder(id, parent, name);
    }
}
