using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients.Tests.Scenarios;

public sealed class ScenarioFileTests
{
    private const string Good = """{"name":"a","seed":1,"preset":"small-40gb"}""";

    [Fact]
    public void A_written_scenario_is_read_back_the_same()
    {
        foreach (Family family in Families.All)
        {
            Scenario scenario = family.Make(9, 10);
            string text = ScenarioFile.Write(scenario);
            Assert.Equal(text, ScenarioFile.Parse(text, "/").Match(ScenarioFile.Write, refused => refused.Message));
        }
    }

    [Fact]
    public void The_documented_example_is_a_scenario()
    {
        string page = File.ReadAllText(Path.Combine(Repository.Root, "docs", "formats", "scenario.md"));
        string example = page.Split("```json")[1].Split("```")[0];
        Assert.Equal("ok", ScenarioFile.Parse(example, "/").Match(_ => "ok", refused => refused.Message));
    }

    [Theory]
    [InlineData("""{"name":"a","seed":1}""", "$.drive")]
    [InlineData("""{"name":"a","seed":-1,"preset":"small-40gb"}""", "$.seed")]
    [InlineData("""{"seed":1,"preset":"small-40gb"}""", "$.name")]
    [InlineData("""{"name":"a","seed":1,"preset":"big"}""", "$.preset")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","colour":"red"}""", "$.colour")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","drive":{"capacitySectors":99999999999}}""", "$.drive.capacitySectors")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","drive":{"tracksPerSurface":7}}""", "$.drive.zones")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","drive":{"zones":[]}}""", "$.drive.zones")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","drive":{"zones":[{"tracks":9,"sectorsPerTrack":9,"tracksPerBand":3},{"tracks":9,"sectorsPerTrack":10,"tracksPerBand":3}]}}""", "$.drive.zones[1].sectorsPerTrack")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","drive":{"zones":[{"tracks":9,"sectorsPerTrack":9,"tracksPerBand":30}]}}""", "$.drive.zones[0].tracksPerBand")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","drive":{"headOrder":[0,1,1,3]}}""", "$.drive.headOrder")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","drive":{"density":[0.01]}}""", "$.drive.density")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","timing":{"spinUpSeconds":-4}}""", "$.timing.spinUpSeconds")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","timing":{"seekFullMilliseconds":2}}""", "$.timing.seekAverageMilliseconds")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","damage":[{"kind":"deadHead","head":4}]}""", "$.damage[0].head")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","damage":[{"kind":"deadHead","head":1},{"kind":"weakHead","head":1,"margin":3}]}""", "$.damage[1].head")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","damage":[{"kind":"rust"}]}""", "$.damage[0].kind")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","damage":[{"kind":"ring","heads":[0,9],"fromTrack":1,"tracks":1}]}""", "$.damage[0].heads[1]")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","damage":[{"kind":"ring","heads":[0],"fromTrack":7000,"tracks":5000}]}""", "$.damage[0].tracks")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","damage":[{"kind":"run","start":0,"sectors":8,"cause":"silence"}]}""", "$.damage[0].cause")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","damage":{"kind":"run"}}""", "$.damage")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","wear":{"heads":"mild"}}""", "$.wear.heads")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","content":{"kind":"image","path":"there-is-none"}}""", "$.content.path")]
    [InlineData("""{"name":"a","seed":1,"preset":"small-40gb","files":{"allocatedShare":1,"skeletonShare":0.1}}""", "$.files.allocatedShare")]
    [InlineData("""{"name":"a","name":"b","seed":1}""", "$")]
    [InlineData("[1", "$")]
    [InlineData("3", "$")]
    public void A_contradiction_is_refused_with_its_place(string text, string path) =>
        Assert.Equal(path, ScenarioFile.Parse(text, "/").Match(_ => "accepted", refused => refused.JsonPath));

    [Fact]
    public void The_reason_says_what_is_wrong_and_what_would_be_right()
    {
        string Message(string text) => ScenarioFile.Parse(text, "/").Match(_ => "accepted", refused => refused.Message);
        Assert.Equal("$.damage[0].head: 4, but this drive has heads 0 to 3", Message(Good[..^1] + ""","damage":[{"kind":"deadHead","head":4}]}"""));
        Assert.Equal("$.drive.zones: the zones add up to 7650 tracks, while tracksPerSurface says 7", Message(Good[..^1] + ""","drive":{"tracksPerSurface":7}}"""));
    }

    [Fact]
    public void Any_text_gets_an_answer_and_never_an_exception() =>
        Gen.Select(Gen.Int[0, 2000], Gen.Char[' ', '~']).Sample((at, c) =>
        {
            char[] text = ScenarioFile.Write(Families.All[9].Make(1, 1)).ToCharArray();
            text[at % text.Length] = c;
            return ScenarioFile.Parse(new string(text), "/").Match(_ => true, refused => refused.JsonPath.StartsWith('$'));
        }, iter: 300);

    [Fact]
    public void A_patient_with_an_image_returns_the_images_bytes_and_zeros_behind_it()
    {
        string folder = Directory.CreateTempSubdirectory().FullName;
        byte[] image = [.. Enumerable.Range(0, 10_000).Select(i => (byte)(i * 7))];
        File.WriteAllBytes(Path.Combine(folder, "disk.img"), image);
        File.WriteAllText(Path.Combine(folder, "p.json"), Good[..^1] + ""","content":{"kind":"image","path":"disk.img"}}""");
        using Patient patient = PatientFile.Open(Path.Combine(folder, "p.json")).Match(p => p, r => throw new InvalidOperationException(r.Message));
        byte[] read = new byte[64 * 512];
        Assert.IsType<ReadOutcome.Bytes>(patient.Read(SectorRange.Between(0, 64), read, Timeout.InfiniteTimeSpan));
        Assert.Equal([.. image, .. new byte[read.Length - image.Length]], read);
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public void A_file_that_is_not_there_is_refused_in_words() =>
        Assert.Contains("cannot be read", PatientFile.Open("/nowhere/at/all.json").Match(_ => "", r => r.Message), StringComparison.Ordinal);
}
