using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Reading.Map;
using Turnstone.Reading.Storage;
using Turnstone.Reading.Tests.Map;

namespace Turnstone.Reading.Tests.Storage;

public class RunTableTests
{
    private static readonly ReadRecord Patient = new(new SourceIdentity("x", "bench"), new Geometry(new SectorSize(512), new SectorSize(512), new SectorCount(400)));

    [Fact]
    public void The_rows_say_what_the_map_in_memory_says() => ReadMapTests.Changes.Sample(
        changes =>
        {
            using var folder = new TempFolder();
            using ReadDatabase database = ReadDatabase.Create(folder["read.db"], Patient);
            var map = new ReadMap(new SectorCount(400));
            database.InTransaction(() =>
            {
                foreach ((SectorRange range, MapMark mark) in changes.Where(change => !change.Range.IsEmpty))
                {
                    map.Set(range, mark);
                    database.Runs.Set(range, mark);
                }
            });
            Assert.Equal(map.Runs(), database.LoadMap(new SectorCount(400)).Runs());
            Assert.Equal(map.Runs().Count(run => run.Mark.State != SectorState.Unasked), database.Runs.Rows(0, long.MaxValue).Count());
        },
        iter: 40);

    [Fact]
    public void A_bent_byte_anywhere_in_the_file_never_makes_the_map_claim_more()
    {
        using var folder = new TempFolder();
        using (ReadDatabase database = ReadDatabase.Create(folder["read.db"], Patient))
        {
            database.InTransaction(() =>
            {
                for (int i = 0; i < 190; i++)
                    database.Runs.Set(SectorRange.Between(i * 2, (i * 2) + 1), i % 3 == 0 ? MapMark.Refused(RefusalCause.Medium, 2) : MapMark.Held);
            });
            database.Fold();
        }

        byte[] good = File.ReadAllBytes(folder["read.db"]);
        int refused = 0;
        Gen.Select(Gen.Int[0, good.Length - 1], Gen.Byte[1, 255]).Sample(
            bent =>
            {
                using var bench = new TempFolder();
                byte[] bytes = (byte[])good.Clone();
                bytes[bent.Item1] ^= bent.Item2;
                File.WriteAllBytes(bench["read.db"], bytes);
                ReadMap? map = TryLoad(bench["read.db"]);
                refused += map is null ? 1 : 0;
                foreach (SectorRange held in map?.InState(SectorState.Held, map.Whole) ?? [])
                    Assert.True(held.Count.Value == 1 && held.Start.Value % 2 == 0 && held.Start.Value / 2 % 3 != 0, $"byte {bent.Item1}: the map claims {held}");
            },
            iter: 400, threads: 1);
        Assert.NotEqual(0, refused);
    }

    private static ReadMap? TryLoad(string path)
    {
        try
        {
            using ReadDatabase database = ReadDatabase.Open(path, toWrite: false);
            return database.LoadMap(database.Record().Geometry.Capacity);
        }
        catch (ReadFolderException)
        {
            return null;
        }
    }
}
