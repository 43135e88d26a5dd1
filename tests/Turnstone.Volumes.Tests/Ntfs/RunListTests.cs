using Turnstone.Volumes.Ntfs;

namespace Turnstone.Volumes.Tests.Ntfs;

public sealed class RunListTests
{
    // Worked examples: R. Russon, Y. Fledel, NTFS Documentation, 'Data Runs' (from memory); decoded again with ntfs-3g's rules.
    [Fact]
    public void The_documentations_example_of_three_runs()
    {
        RunList list = RunList.Read(Convert.FromHexString("3138732534321401E511023142AA000300"), 0x38 + 0x114 + 0x42, 0x1_000_000);
        Assert.Equal([new Run(0x38, 0x342573), new Run(0x114, 0x363758), new Run(0x42, 0x393802)], list.Runs);
        Assert.Null(list.Trouble);
    }

    [Fact]
    public void The_documentations_example_with_a_sparse_run_and_a_step_back()
    {
        RunList list = RunList.Read(Convert.FromHexString("2118345601101108E800"), 0x18 + 0x10 + 8, 0x10_000);
        Assert.Equal([new Run(0x18, 0x5634), new Run(0x10, Run.Sparse), new Run(8, 0x561C)], list.Runs);
    }

    [Theory]
    [InlineData("", "not wholly held")]
    [InlineData("00", "too early")]
    [InlineData("2118", "not wholly held")]
    [InlineData("11180111", "not wholly held")]
    [InlineData("111864", "leaves the volume")]
    [InlineData("1118FF", "leaves the volume")]
    [InlineData("1100FF", "leaves the volume")]
    [InlineData("91180000", "code 91")]
    [InlineData("8818FFFFFFFFFFFFFF7FFFFFFFFFFFFFFF7F", "leaves the volume")]
    [InlineData("08FFFFFFFFFFFFFFFF", "leaves the volume")]
    public void What_makes_no_sense_is_unknown_to_the_end(string bytes, string why)
    {
        RunList list = RunList.Read(Convert.FromHexString(bytes), expected: 0x40, volumeClusters: 100);
        Assert.Equal(0x40, list.Runs.Sum(run => run.Count));
        Assert.Equal(Run.Unknown, list.Runs[^1].Cluster);
        Assert.Contains(why, list.Trouble);
    }

    [Fact]
    public void Any_bytes_give_runs_inside_the_volume_that_cover_what_was_asked() =>
        Gen.Select(Gen.Byte.Array[0, 200], Gen.Long[0, 1L << 50], Gen.Long[1, 1L << 50]).Sample((bytes, expected, clusters) =>
        {
            RunList list = RunList.Read(bytes, expected, clusters);
            return list.Runs.Sum(run => run.Count) == expected
                && list.Runs.All(run => run.Count > 0 && (!run.IsStored || run.Cluster + run.Count <= clusters))
                && list.Runs.Count <= (bytes.Length / 2) + 1;
        });
}
