using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>Gives every entry its grade by what is held. Streams: no list of all files is ever kept.</summary>
/// <remarks>
/// A volume's entries are read twice: first for who owns which bytes, then for the grades; a third time where a file
/// system with hard links shows bytes with several owners.
/// Order: the disk's volumes in their order, each volume's entries in the order in which it tells them.
/// A file is whole only if every byte is held, its place is not a guess, and nobody else claims its bytes:
/// <list type="bullet">
/// <item>live files that claim the same bytes against the file system's rules are doubtful, each with a note;</item>
/// <item>bytes of a deleted file that a live file owns now are missing from the deleted one;</item>
/// <item>a deleted file in space that the volume says is in use, or that another deleted file claims too, is doubtful;</item>
/// <item>a deleted file whose place is a guess is only named; a live one is doubtful.</item>
/// </list>
/// </remarks>
/// <param name="view">The bytes of the patient as far as they are held.</param>
public sealed class Grader(ISectorView view)
{
    /// <summary>Findings for every entry of every volume that can be read here.</summary>
    public IEnumerable<FileFinding> Findings(Disk disk) => disk.Volumes.Where(volume => volume.IsReadable).SelectMany(Findings);

    /// <summary>Findings for every entry of one volume.</summary>
    public IEnumerable<FileFinding> Findings(Volume volume)
    {
        var judge = new Judge(Claims.Of(volume), view);
        string name = volume.Facts.Name; // asked once: a volume looks at the disk anew for it
        foreach (Entry entry in volume.Entries())
            yield return judge.Of(name, entry);
    }
}
