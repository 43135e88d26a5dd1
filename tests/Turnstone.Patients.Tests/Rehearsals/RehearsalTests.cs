using Turnstone.Patients.Rehearsals;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Tests.Rehearsals;

public sealed class RehearsalTests
{
    [Fact]
    public void The_same_rehearsal_twice_is_the_same_to_the_nanosecond()
    {
        Scenario scenario = Families.All.Single(f => f.Name == "impact").Make(3, 4);
        RehearsalResult first = Rehearsal.Run(scenario, Strategies.References[1], TimeSpan.FromMinutes(5));
        RehearsalResult second = Rehearsal.Run(scenario, Strategies.References[1], TimeSpan.FromMinutes(5));
        Assert.Equal(first.Points, second.Points);
        Assert.Equal(first.Asks, second.Asks);
    }

    [Fact]
    public void What_came_after_the_end_of_the_time_does_not_count()
    {
        Scenario scenario = Families.All[0].Make(3, 4);
        RehearsalResult whole = Rehearsal.Run(scenario, Strategies.References[2], TimeSpan.FromMinutes(5));
        RehearsalResult part = Rehearsal.Run(scenario, Strategies.References[2], TimeSpan.FromSeconds(10));
        Assert.True(part.End.Time <= TimeSpan.FromSeconds(10));
        Assert.True(part.End.Bytes < whole.End.Bytes / 2);
    }

    [Fact]
    public void A_set_of_sectors_counts_each_once() =>
        Gen.Select(Gen.Int[0, 60], Gen.Int[0, 12]).Array[0, 40].Sample(adds =>
        {
            var set = new SectorSet();
            var model = new HashSet<long>();
            foreach ((int first, int length) in adds)
            {
                long[] added = [.. set.Add(first, first + length).SelectMany(r => Sectors(r.First, r.End))];
                Assert.Equal(Sectors(first, first + length).Where(s => !model.Contains(s)), added);
                model.UnionWith(added);
            }

            Assert.Equal(model.Order(), set.Runs.SelectMany(r => Sectors(r.First, r.End)));
            Assert.All(set.Runs.Zip(set.Runs.Skip(1)), pair => Assert.True(pair.First.End < pair.Second.First));
        });

    [Fact]
    public void Invented_files_never_overlap_and_stay_on_the_drive() =>
        Gen.Select(Gen.ULong, Gen.Long[1, 200_000], Gen.Double[0, 0.9], Gen.Double[0, 0.1], Gen.Double[0.1, 50]).Sample((seed, capacity, allocated, skeleton, mean) =>
        {
            var spec = new FilesSpec { AllocatedShare = allocated, SkeletonShare = skeleton, MeanFileMegabytes = mean };
            long at = 0;
            foreach (PlanRun run in FilePlan.Draw(spec, capacity, 4096, seed))
            {
                Assert.True(at <= run.First && run.First < run.End && run.End <= capacity);
                at = run.End;
            }
        });

    [Fact]
    public void A_wished_file_is_whole_only_when_all_its_pieces_are_held()
    {
        Scenario scenario = Families.All[0].Make(1, 4) with { Damage = [] };
        using var patient = new Patient(scenario);
        var worth = new WorthMap(patient, scenario);
        PlanRun[] pieces = [.. worth.Runs.Where(r => r.Worth == Worth.Wished).GroupBy(r => r.File).First(f => f.Count() > 1)];
        var score = new Score(worth);
        foreach (PlanRun piece in pieces)
        {
            Assert.Equal(0, score.WholeFileBytes);
            score.Add(piece.First, piece.End);
        }

        Assert.Equal(pieces.Sum(p => p.End - p.First) * 4096.0, score.WholeFileBytes);
        Assert.Equal(score.Bytes * scenario.Files.WishWeight, score.WishedBytes);
    }

    [Fact]
    public void The_picture_is_well_formed_whatever_the_name()
    {
        Scenario scenario = Families.All[0].Make(3, 4);
        RehearsalResult result = Rehearsal.Run(scenario, Strategies.References[0], TimeSpan.FromMinutes(1));
        string svg = RehearsalPicture.Of("<script>&\"", result, Rehearsal.Bound(scenario), TimeSpan.FromMinutes(1));
        var picture = System.Xml.Linq.XDocument.Parse(svg);
        Assert.Contains(picture.Descendants(), e => e.Value.Contains("<script>", StringComparison.Ordinal));
        Assert.DoesNotContain("NaN", svg, StringComparison.Ordinal);
    }

    private static IEnumerable<long> Sectors(long first, long end)
    {
        for (long at = first; at < end; at++)
            yield return at;
    }
}
