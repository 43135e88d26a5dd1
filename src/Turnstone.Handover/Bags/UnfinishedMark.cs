using System.Text;

namespace Turnstone.Handover;

/// <summary>The file that marks a bag as unfinished from its first moment to its last, and remembers what is done.</summary>
/// <remarks>
/// First line words for a person, second line whose hand-over it is, then one line for each file that was written. A
/// line is only a hint for a later start: before a file is kept it is read back and its digest compared.
/// </remarks>
internal sealed class UnfinishedMark : IDisposable
{
    /// <summary>Its name in the bag.</summary>
    public const string Name = "unfinished-handover.txt";

    private const string Warning = "This hand-over is not finished: files are missing. Do not give it to anyone.";
    private readonly FileStream _file;
    private readonly string _bag;

    private UnfinishedMark(string bag, FileStream file, EarlierWork earlier)
    {
        _bag = bag;
        _file = file;
        Earlier = earlier;
    }

    /// <summary>What an interrupted start of the same hand-over left.</summary>
    public EarlierWork Earlier { get; }

    /// <summary>Marks a new bag, or takes up an interrupted one of the same hand-over.</summary>
    /// <exception cref="HandoverException">The folder holds something else, or somebody else is writing it.</exception>
    public static UnfinishedMark Begin(string bag, HandoverOrder order)
    {
        if (File.Exists(bag))
            throw new HandoverException($"'{bag}' is a file. Name a folder that does not exist yet, or an empty one.");
        Directory.CreateDirectory(bag);
        string mark = Path.Combine(bag, Name);
        bool interrupted = File.Exists(mark);
        if (!interrupted && Directory.EnumerateFileSystemEntries(bag).Any())
            throw new HandoverException($"'{bag}' is not empty. Name a folder that does not exist yet, or an empty one: a bag never mixes with what is there.");
        FileStream file = Open(mark);
        try
        {
            EarlierWork earlier = interrupted ? TakeUp(bag, file, order) : Head(bag, file, order);
            Directory.CreateDirectory(Path.Combine(bag, "data"));
            return new UnfinishedMark(bag, file, earlier);
        }
        catch
        {
            file.Dispose();
            throw;
        }
    }

    /// <summary>Remembers a file that is written, so that a later start can keep it.</summary>
    public void Enter(Placed placed, Written written)
    {
        if (!EarlierWork.CanKeep(placed))
            return;
        _file.Write(Encoding.UTF8.GetBytes(EarlierWork.Line(placed, written) + "\n"));
        // To the system, not to the medium: it has to outlive this program; what outlives the power is found by reading back.
        _file.Flush();
    }

    /// <summary>Takes the mark away.</summary>
    public void End()
    {
        File.Delete(Path.Combine(_bag, Name));
        Dispose();
    }

    /// <inheritdoc/>
    public void Dispose() => _file.Dispose();

    private static FileStream Open(string mark)
    {
        try
        {
            return new FileStream(mark, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
        }
        catch (IOException e) when (File.Exists(mark))
        {
            throw new HandoverException($"'{mark}' cannot be taken over: {e.Message} Another hand-over may be writing this bag.", e);
        }
    }

    private static EarlierWork Head(string bag, FileStream file, HandoverOrder order)
    {
        file.Write(Encoding.UTF8.GetBytes($"{Warning}\n{order.Fingerprint}\n"));
        file.Flush();
        return EarlierWork.None(bag);
    }

    private static EarlierWork TakeUp(string bag, FileStream file, HandoverOrder order)
    {
        using var reader = new StreamReader(file, Encoding.UTF8, leaveOpen: true);
        string[] lines = reader.ReadToEnd().Split('\n');
        if (lines.Length < 3 || order.Fingerprint.Length == 0 || lines[1] != order.Fingerprint)
            throw new HandoverException($"'{bag}' holds an unfinished hand-over of something else. Remove the folder, or name another one.");
        EarlierWork earlier = EarlierWork.Of(bag, lines[2..^1]);
        // The last line may be torn: what follows must not be glued to it.
        if (lines[^1].Length > 0)
            file.WriteByte((byte)'\n');
        return earlier;
    }
}
