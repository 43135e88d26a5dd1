using Turnstone.Lab.Signing;

namespace Turnstone.Cli.Tests.Lab;

public sealed class What_the_lab_keeps : IDisposable
{
    private static readonly string[] Plan = ["protocol", "--failure", "stuck heads", "--drive", LabCommand.Demo("drive.json"), "--case"];
    private readonly LabCommand _lab = new();

    private string Ledger => Path.Combine(_lab["lab"], "ledger.jsonl");

    [Fact]
    public void A_signed_step_goes_to_the_ledger_and_the_plan_moves_on()
    {
        Assert.Contains("Signed: donor heads proven, by R. Quell", Sign("c1", "donor heads proven"));
        string shown = _lab.Good([.. Plan, "c1"]);
        Assert.Contains("signed, R.", shown);
        Assert.Contains("2026-11-25T09:00:00", File.ReadAllText(Ledger));
    }

    [Fact]
    public void A_step_behind_a_hold_point_cannot_be_signed() =>
        Assert.Contains("hold point 'donor heads proven' is not signed", _lab.Bad([.. Plan, "c1", "--sign", "lid off", "--who", "R. Quell"]));

    [Fact]
    public void A_changed_ledger_is_noticed_and_nothing_is_added_to_it()
    {
        Sign("c1", "donor heads proven");
        Sign("c1", "take the board off");
        File.WriteAllText(Ledger, File.ReadAllText(Ledger).Replace("donor heads proven", "donor heads PROVEN"));
        string before = File.ReadAllText(Ledger);
        Assert.Contains("line 2: the line does not follow from the one before", _lab.Bad([.. Plan, "c1", "--sign", "air checked", "--who", "R. Quell"]));
        Assert.Equal(before, File.ReadAllText(Ledger));
    }

    [Fact]
    public void A_last_line_cut_at_any_byte_costs_that_line_only_and_its_bytes_are_kept_apart()
    {
        Sign("c1", "donor heads proven");
        byte[] first = File.ReadAllBytes(Ledger);
        Sign("c1", "take the board off");
        byte[] both = File.ReadAllBytes(Ledger);
        for (int length = first.Length + 1; length < both.Length; length += 37)
        {
            File.WriteAllBytes(Ledger, both[..length]);
            Sign("c1", "take the board off");
            Assert.IsType<ChainCheck.Whole>(Chain.Check(File.ReadLines(Ledger)));
            Assert.Equal(2, File.ReadLines(Ledger).Count());
        }

        Assert.NotEmpty(Directory.GetFiles(_lab["lab"], "ledger.torn-*"));
    }

    [Fact]
    public void Many_writers_at_once_make_one_whole_chain()
    {
        Parallel.For(0, 16, new ParallelOptions { MaxDegreeOfParallelism = 4 }, i => Sign($"c{i}", "donor heads proven"));
        Assert.Equal(16, Chain.Check(File.ReadLines(Ledger)).Match(whole => whole.Lines, broken => throw new InvalidOperationException(broken.What)));
    }

    [Fact]
    public void Two_equal_takes_of_a_dump_agree_and_then_writing_may_be_noted()
    {
        File.WriteAllBytes(_lab["a.bin"], [1, 2, 3]);
        File.WriteAllBytes(_lab["b.bin"], [1, 2, 3]);
        string[] what = ["--case", "c1", "--drive", "WQX4417KQ", "--kind", "rom", "--name", "rom", "--who", "R. Quell"];
        Assert.Contains("read the drive a second time", _lab.Good(["dump", "keep", _lab["a.bin"], .. what]));
        Assert.Contains("nothing may be written", _lab.Bad(["dump", "written", _lab["a.bin"], .. what, "--why", "x"]));
        Assert.Contains("Two takes agree", _lab.Good(["dump", "keep", _lab["b.bin"], .. what]));
        Assert.Contains("Noted: rom", _lab.Good(["dump", "written", _lab["a.bin"], .. what, "--why", "x"]));
        Assert.Single(Directory.GetFiles(Path.Combine(_lab["lab"], "dumps")));
    }

    [Fact]
    public void Differing_dumps_end_with_2_and_their_bytes_are_listed()
    {
        File.WriteAllBytes(_lab["a.bin"], [.. "adaptives of head 0....."u8]);
        File.WriteAllBytes(_lab["b.bin"], [.. "adaptives of head 1....."u8]);
        (int code, string shown, _) = _lab.Run("dump", "compare", _lab["a.bin"], _lab["b.bin"]);
        Assert.Equal(2, code);
        Assert.Contains("Different: 1 byte in 1 stretch", shown);
        Assert.Contains("0x12", shown);
    }

    public void Dispose() => _lab.Dispose();

    private string Sign(string name, string step) => _lab.Good([.. Plan, name, "--sign", step, "--who", "R. Quell"]);
}
