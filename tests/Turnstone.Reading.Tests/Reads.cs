using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Reading.Map;
using Turnstone.Reading.Stages;
using Turnstone.Reading.Storage;

namespace Turnstone.Reading.Tests;

/// <summary>Reads one invented patient into a temporary folder, in as many sittings as a test wants.</summary>
internal sealed class Reads(MemorySource patient) : IDisposable
{
    private readonly TempFolder _folder = new();

    public string Folder => _folder["read"];

    public List<ReadEvent> Events { get; } = [];

    /// <summary>Runs one sitting on the patient as the wrapper lets it be seen.</summary>
    public ReadEnd Sit(Func<IBlockSource, IBlockSource>? through = null, ReadOptions? options = null, IReadGuide? guide = null, Func<ReadEvent, bool>? stopWhen = null)
    {
        using var stop = new CancellationTokenSource();
        IBlockSource source = through is null ? patient : through(patient);
        using ReadFolder folder = ReadFolder.Begin(Folder, new ReadRecord(source.Identity, source.Geometry), needsSpace: true);
        return new PatientRead(source, folder, guide, happened =>
        {
            Events.Add(happened);
            if (stopWhen?.Invoke(happened) == true)
                stop.Cancel();
        }).Run(options ?? new ReadOptions(), stop.Token);
    }

    /// <summary>Looks at what came of it.</summary>
    public T Look<T>(Func<ReadFolder, T> look)
    {
        using ReadFolder folder = ReadFolder.Look(Folder);
        return look(folder);
    }

    /// <summary>The sectors in one state.</summary>
    public long[] Sectors(SectorState state) => Look(folder => folder.Map.InState(state, folder.Map.Whole)
        .SelectMany(range => Enumerable.Range(0, (int)range.Count.Value).Select(i => range.Start.Value + i)).ToArray());

    /// <summary>Fails unless every sector that the map calls held has the patient's bytes in the image, and every digest fits.</summary>
    public void AssertTrue()
    {
        using ReadFolder folder = ReadFolder.Look(Folder);
        SectorSize size = folder.Record.Geometry.Logical;
        foreach (SectorRange held in folder.Map.InState(SectorState.Held, folder.Map.Whole))
        {
            byte[] bytes = new byte[held.Count.Bytes(size)];
            folder.Image.Read(held.Start.ByteOffset(size), bytes);
            Assert.True(patient.Content.Slice((int)held.Start.ByteOffset(size), bytes.Length).SequenceEqual(bytes), $"sectors {held} differ from the patient's");
        }

        Assert.Empty(new ImageCheck(folder).Faults());
    }

    public void Dispose() => _folder.Dispose();
}
