using Turnstone.Media;
using Turnstone.Reading.Stages;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>Tells the read what to ask for first: partition tables, then each file system's tables and folders, as far as what is held shows them.</summary>
public sealed class SkeletonGuide : IReadGuide
{
    /// <inheritdoc/>
    public IEnumerable<ByteRange> AskFirst(ISectorView held)
    {
        Disk disk = Disk.Read(held);
        return disk.Skeleton.Concat(disk.Volumes.SelectMany(volume => volume.Skeleton()));
    }
}
