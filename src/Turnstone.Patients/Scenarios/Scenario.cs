using Turnstone.Patients.Contents;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Timing;
using Turnstone.Patients.Wear;

namespace Turnstone.Patients.Scenarios;

/// <summary>A described drive: everything that a simulated patient is made of. The same scenario gives the same patient to the nanosecond.</summary>
public sealed record Scenario
{
    /// <summary>A name for people.</summary>
    public required string Name { get; init; }

    /// <summary>Where all chance starts.</summary>
    public required ulong Seed { get; init; }

    /// <summary>How sectors lie.</summary>
    public required DriveSpec Drive { get; init; }

    /// <summary>How long things take.</summary>
    public required TimingSpec Timing { get; init; }

    /// <summary>What is wrong with it.</summary>
    public IReadOnlyList<Damage> Damage { get; init; } = [];

    /// <summary>How it wears.</summary>
    public WearSpec Wear { get; init; } = new();

    /// <summary>What stands on it.</summary>
    public ContentSpec Content { get; init; } = new ContentSpec.Seeded();

    /// <summary>Where its files lie, for rehearsals: what a read is worth.</summary>
    public FilesSpec Files { get; init; } = new();
}

/// <summary>Files as a rehearsal assumes them; none of this stands in the content.</summary>
/// <remarks>All shares are assumptions about a half-full drive whose owner misses a part of it most.</remarks>
public sealed record FilesSpec
{
    /// <summary>Share of the drive that the file system itself takes: what must be read to know where files lie.</summary>
    public double SkeletonShare { get; init; } = 0.001;

    /// <summary>Share of the drive that files take.</summary>
    public double AllocatedShare { get; init; } = 0.6;

    /// <summary>Share of the files' bytes that the client wishes for most.</summary>
    public double WishedShare { get; init; } = 0.1;

    /// <summary>Value of a wished byte, where a byte of another file is worth 1 and a free one nothing.</summary>
    public double WishWeight { get; init; } = 20;

    /// <summary>Mean size of a file, 10^6 bytes; sizes are log-normal.</summary>
    public double MeanFileMegabytes { get; init; } = 20;

    /// <summary>Share of the files that lie in several pieces.</summary>
    public double FragmentedShare { get; init; } = 0.15;
}
