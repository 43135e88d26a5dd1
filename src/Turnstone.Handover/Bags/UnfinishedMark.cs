using System.Text;

namespace Turnstone.Handover;

/// <summary>The file that marks a bag as unfinished from its first moment to its last.</summary>
internal static class UnfinishedMark
{
    /// <summary>Its name in the bag.</summary>
    public const string Name = "unfinished-handover.txt";

    /// <summary>Makes the folder where there is none, and marks it.</summary>
    /// <exception cref="HandoverException">The folder holds something already.</exception>
    public static void Begin(string bag)
    {
        if (File.Exists(bag))
            throw new HandoverException($"'{bag}' is a file. Name a folder that does not exist yet, or an empty one.");
        Directory.CreateDirectory(bag);
        if (File.Exists(Path.Combine(bag, Name)))
            throw new HandoverException($"'{bag}' holds an unfinished hand-over. Remove the folder, or name another one.");
        if (Directory.EnumerateFileSystemEntries(bag).Any())
            throw new HandoverException($"'{bag}' is not empty. Name a folder that does not exist yet, or an empty one: a bag never mixes with what is there.");
        File.WriteAllText(Path.Combine(bag, Name), "This hand-over is not finished: files are missing. Do not give it to anyone.\n", new UTF8Encoding(false));
        Directory.CreateDirectory(Path.Combine(bag, "data"));
    }

    /// <summary>Takes the mark away.</summary>
    public static void End(string bag) => File.Delete(Path.Combine(bag, Name));
}
