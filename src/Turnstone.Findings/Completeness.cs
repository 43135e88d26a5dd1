using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>Sums over files: how many of each grade, how many bytes.</summary>
/// <remarks>Streams and links with content of their own count like files; folders and the like don't count.</remarks>
public readonly record struct Tally
{
    /// <summary>All bytes held and proven.</summary>
    public long Proven { get; init; }

    /// <summary>All bytes held.</summary>
    public long Whole { get; init; }

    /// <summary>All bytes held, something contradicts.</summary>
    public long Doubtful { get; init; }

    /// <summary>Some bytes held.</summary>
    public long Holed { get; init; }

    /// <summary>No byte held.</summary>
    public long Named { get; init; }

    /// <summary>Found without an entry.</summary>
    public long Traced { get; init; }

    /// <summary>Bytes that are held.</summary>
    public long HeldBytes { get; init; }

    /// <summary>Bytes that the files have; those of unknown size add nothing.</summary>
    public long TotalBytes { get; init; }

    /// <summary>Files of any grade.</summary>
    public long Files => Proven + Whole + Doubtful + Holed + Named + Traced;

    /// <summary>The sum of two.</summary>
    public static Tally operator +(Tally left, Tally right) => new()
    {
        Proven = left.Proven + right.Proven,
        Whole = left.Whole + right.Whole,
        Doubtful = left.Doubtful + right.Doubtful,
        Holed = left.Holed + right.Holed,
        Named = left.Named + right.Named,
        Traced = left.Traced + right.Traced,
        HeldBytes = left.HeldBytes + right.HeldBytes,
        TotalBytes = left.TotalBytes + right.TotalBytes,
    };

    /// <summary>The tally of a single finding; all zero for a folder.</summary>
    public static Tally Of(FileFinding finding) => finding.Grade is not { } grade ? default : new Tally
    {
        Proven = grade == Grade.Proven ? 1 : 0,
        Whole = grade == Grade.Whole ? 1 : 0,
        Doubtful = grade == Grade.Doubtful ? 1 : 0,
        Holed = grade == Grade.Holed ? 1 : 0,
        Named = grade == Grade.Named ? 1 : 0,
        Traced = grade == Grade.Traced ? 1 : 0,
        HeldBytes = finding.HeldBytes,
        TotalBytes = finding.Entry.Size ?? 0,
    };
}

/// <summary>How much of one folder there is.</summary>
/// <param name="Volume">Name of the volume.</param>
/// <param name="Folder">The folder; the root's path is empty.</param>
/// <param name="Own">Live files right in it.</param>
/// <param name="All">Live files in it and in every folder below.</param>
/// <param name="Deleted">Deleted files in it and in every folder below.</param>
public sealed record FolderCompleteness(string Volume, EntryPath Folder, Tally Own, Tally All, Tally Deleted);

/// <summary>Gathers completeness by folder from findings as they pass by; memory follows the folders, not the files.</summary>
public sealed class Completeness
{
    private readonly Dictionary<string, Node> _volumes = new(StringComparer.Ordinal);
    private readonly List<string> _order = [];
    private (EntryPath? Folder, string Volume, Node? Node) _last;

    /// <summary>Counts a finding. A folder that holds nothing gets its line too.</summary>
    public void Add(FileFinding finding)
    {
        Node node = NodeOf(finding.Volume, FolderOf(finding.Entry));
        if (finding.Entry.Deleted)
            node.Deleted += Tally.Of(finding);
        else
            node.Own += Tally.Of(finding);
    }

    /// <summary>Hands the findings on and counts each as it passes.</summary>
    public IEnumerable<FileFinding> Watch(IEnumerable<FileFinding> findings)
    {
        foreach (FileFinding finding in findings)
        {
            Add(finding);
            yield return finding;
        }
    }

    /// <summary>One line a folder: volumes in the order they came, a folder before its own, siblings by their names' code units.</summary>
    public IEnumerable<FolderCompleteness> Folders()
    {
        foreach (string volume in _order)
        {
            List<Node> nodes = _volumes[volume].InOrder();
            Sum(nodes);
            foreach (Node node in nodes)
                yield return new FolderCompleteness(volume, node.Path, node.Own, node.All, node.AllDeleted);
        }
    }

    /// <summary>Live files of all volumes together.</summary>
    public Tally Total() => Folders().Where(folder => folder.Folder.IsRoot).Aggregate(default(Tally), (sum, folder) => sum + folder.All);

    // A stream's path goes through its file: it counts where the file stands.
    private static EntryPath FolderOf(Entry entry)
    {
        EntryPath parent = entry.Path.Parent ?? EntryPath.Root;
        return entry.Kind switch
        {
            EntryKind.Folder => entry.Path,
            EntryKind.Stream => parent.Parent ?? parent,
            EntryKind.File or EntryKind.Link or EntryKind.Other => parent,
        };
    }

    private static void Sum(List<Node> nodes)
    {
        foreach (Node node in nodes)
            (node.All, node.AllDeleted) = (node.Own, node.Deleted);
        // Children come after their folder, so going backwards every folder is complete before it is added to its parent.
        for (int i = nodes.Count - 1; i > 0; i--)
        {
            Node parent = nodes[i].Parent!;
            parent.All += nodes[i].All;
            parent.AllDeleted += nodes[i].AllDeleted;
        }
    }

    private Node NodeOf(string volume, EntryPath folder)
    {
        if (ReferenceEquals(_last.Folder, folder) && _last.Volume == volume)
            return _last.Node!;
        if (!_volumes.TryGetValue(volume, out Node? node))
        {
            _volumes[volume] = node = new Node(null, EntryPath.Root);
            _order.Add(volume);
        }

        foreach (string name in folder.Names)
            node = node[name];
        _last = (folder, volume, node);
        return node;
    }

    private sealed class Node(Node? parent, EntryPath path)
    {
        private SortedDictionary<string, Node>? _children;

        public Node? Parent => parent;

        public EntryPath Path => path;

        public Tally Own { get; set; }

        public Tally Deleted { get; set; }

        public Tally All { get; set; }

        public Tally AllDeleted { get; set; }

        public Node this[string name]
        {
            get
            {
                _children ??= new(StringComparer.Ordinal);
                if (!_children.TryGetValue(name, out Node? child))
                    _children[name] = child = new Node(this, path[name]);
                return child;
            }
        }

        // With a stack of its own: a hostile tree may be deeper than the program's.
        public List<Node> InOrder()
        {
            var order = new List<Node>();
            var open = new Stack<Node>([this]);
            while (open.TryPop(out Node? node))
            {
                order.Add(node);
                foreach (Node child in node._children?.Values.Reverse() ?? [])
                    open.Push(child);
            }

            return order;
        }
    }
}
