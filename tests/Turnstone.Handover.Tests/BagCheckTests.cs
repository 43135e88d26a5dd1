using System.Text;

namespace Turnstone.Handover.Tests;

public class BagCheckTests
{
    private static BagReport Check(Action<TempFolder> change, bool reseal = false)
    {
        using TempFolder bag = WorkedExample.Write();
        change(bag);
        if (reseal)
            WorkedExample.Reseal(bag);
        return new BagCheck(bag.Path).Run();
    }

    private static void Edit(TempFolder bag, string file, Func<string, string> change) => File.WriteAllText(bag[file], change(File.ReadAllText(bag[file])));

    private static void HasProblem(BagReport report, BagFault fault, string file, int line, string words) =>
        Assert.Contains(report.Problems, problem => problem.Fault == fault && problem.File == file && problem.Line == line && problem.Message.Contains(words, StringComparison.Ordinal));

    [Fact]
    public void A_missing_payload_file_is_found_in_each_manifest()
    {
        BagReport report = Check(bag => File.Delete(bag["data/photos/empty.jpg"]));
        Assert.False(report.IsComplete);
        HasProblem(report, BagFault.NotComplete, "manifest-sha256.txt", 3, "'data/photos/empty.jpg' is not there");
        HasProblem(report, BagFault.NotComplete, "manifest-sha512.txt", 3, "'data/photos/empty.jpg' is not there");
    }

    [Fact]
    public void A_payload_file_that_no_manifest_lists_is_found()
    {
        BagReport report = Check(bag => File.WriteAllText(bag["data/x"], ""));
        HasProblem(report, BagFault.NotComplete, "data/x", 0, "is not listed in manifest-sha256.txt");
        HasProblem(report, BagFault.NotComplete, "bag-info.txt", 4, "Payload-Oxum says 26 bytes in 3 files; there are 26 in 4");
    }

    [Fact]
    public void One_changed_payload_byte_makes_it_invalid_but_leaves_it_complete()
    {
        BagReport report = Check(bag => Edit(bag, "data/letter.txt", text => text.Replace('h', 'H')));
        Assert.True(report.IsComplete);
        Assert.False(report.IsValid);
        HasProblem(report, BagFault.NotValid, "manifest-sha256.txt", 2, "'data/letter.txt'");
        HasProblem(report, BagFault.NotValid, "manifest-sha512.txt", 2, "'data/letter.txt'");
    }

    [Fact]
    public void A_changed_sum_is_found_by_its_tag_digest_as_well()
    {
        BagReport report = Check(bag => Edit(bag, "bag-info.txt", text => text.Replace("26.3", "26.2", StringComparison.Ordinal)));
        HasProblem(report, BagFault.NotValid, "tagmanifest-sha256.txt", 1, "'bag-info.txt'");
        HasProblem(report, BagFault.NotValid, "tagmanifest-sha512.txt", 1, "'bag-info.txt'");
    }

    [Fact]
    public void A_tag_file_that_fits_only_one_tag_manifest_is_found()
    {
        BagReport report = Check(bag =>
        {
            Edit(bag, "bag-info.txt", text => text.Replace("Example", "Changed", StringComparison.Ordinal));
            string digest = TwinDigest.Of(File.ReadAllBytes(bag["bag-info.txt"])).Sha256;
            Edit(bag, "tagmanifest-sha256.txt", text => digest + text[64..]);
        });
        Assert.Equal("tagmanifest-sha512.txt", Assert.Single(report.Problems).File);
    }

    [Fact]
    public void A_percent_sign_that_is_not_encoded_is_refused()
    {
        BagReport report = Check(bag => Edit(bag, "manifest-sha256.txt", text => text.Replace("%25", "%", StringComparison.Ordinal)), reseal: true);
        Assert.False(report.IsComplete);
        HasProblem(report, BagFault.NotComplete, "manifest-sha256.txt", 1, "must be written %25");
    }

    [Theory]
    [InlineData("../x", "may lead out of the bag")]
    [InlineData("data/../../x", "may lead out of the bag")]
    [InlineData("/etc/passwd", "absolute path")]
    [InlineData("C:/x", "absolute path")]
    [InlineData("~root/x", "home folder")]
    [InlineData("\\\\?\\x", "absolute path")]
    [InlineData("./data/letter.txt", "may lead out of the bag")]
    [InlineData("bagit.txt", "lies outside data/")]
    [InlineData("*data/letter.txt", "mark of another program's list")]
    [InlineData("data/", "may lead out of the bag")]
    public void A_path_that_could_lead_astray_is_refused(string path, string words)
    {
        BagReport report = Check(bag => File.AppendAllText(bag["manifest-sha256.txt"], $"{new string('0', 64)}  {path}\n"), reseal: true);
        Assert.False(report.IsComplete);
        HasProblem(report, BagFault.NotComplete, "manifest-sha256.txt", 4, words);
    }

    [Fact]
    public void A_line_that_stands_there_twice_is_refused()
    {
        BagReport report = Check(bag => Edit(bag, "manifest-sha512.txt", text => text + text.Split('\n')[1] + "\n"), reseal: true);
        HasProblem(report, BagFault.NotComplete, "manifest-sha512.txt", 4, "line 2 lists it already");
    }

    [Fact]
    public void Line_ends_of_another_system_and_upper_case_digests_are_as_good()
    {
        BagReport report = Check(bag =>
        {
            foreach (string file in (string[])["bagit.txt", "bag-info.txt", "manifest-sha256.txt", "manifest-sha512.txt"])
                Edit(bag, file, text => text.Replace("\n", "\r\n", StringComparison.Ordinal));
            WorkedExample.Reseal(bag);
            Edit(bag, "tagmanifest-sha256.txt", text => string.Join('\n', text.Split('\n').Select(line => line.Length < 64 ? line : line[..64].ToUpperInvariant() + line[64..])));
        });
        Assert.Empty(report.Problems);
    }

    [Fact]
    public void A_link_in_the_payload_is_not_followed()
    {
        using var outside = new TempFolder();
        File.WriteAllText(outside["letter.txt"], "hello\n");
        DateTime before = new(2020, 1, 1, 0, 0, 0, DateTimeKind.Utc);
        File.SetLastAccessTimeUtc(outside["letter.txt"], before);
        BagReport report = Check(bag =>
        {
            File.Delete(bag["data/letter.txt"]);
            File.CreateSymbolicLink(bag["data/letter.txt"], outside["letter.txt"]);
            Directory.CreateSymbolicLink(bag["data/folder"], outside.Path);
        });
        HasProblem(report, BagFault.NotComplete, "data/letter.txt", 0, "symbolic link");
        HasProblem(report, BagFault.NotComplete, "data/folder", 0, "symbolic link");
        Assert.Equal(before, File.GetLastAccessTimeUtc(outside["letter.txt"]));
    }

    [Fact]
    public void A_pipe_in_the_payload_is_reported_and_not_waited_for()
    {
        BagReport report = Check(bag => Tool.Bash(bag.Path, "mkfifo data/pipe"));
        HasProblem(report, BagFault.NotComplete, "data/pipe", 0, "neither a file nor a folder");
    }

    [Fact]
    public void A_file_that_another_system_renamed_is_pointed_out()
    {
        BagReport report = Check(bag => File.Move(bag["data/letter.txt"], bag["data/Letter.TXT"]));
        HasProblem(report, BagFault.NotComplete, "manifest-sha256.txt", 2, "'data/Letter.TXT' is, which differs only in case");
    }

    [Fact]
    public void A_list_of_files_to_fetch_makes_it_incomplete()
    {
        BagReport report = Check(bag => File.WriteAllText(bag["fetch.txt"], "https://example.invalid/a 10 data/far.bin\n- - ../x\n"));
        HasProblem(report, BagFault.NotComplete, "fetch.txt", 1, "'data/far.bin' has still to be fetched");
        HasProblem(report, BagFault.NotComplete, "fetch.txt", 2, "may lead out of the bag");
    }

    [Theory]
    [InlineData("\uFEFFBagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n", "byte order mark")]
    [InlineData("Tag-File-Character-Encoding: UTF-8\nBagIt-Version: 1.0\n", "must be 'BagIt-Version: '")]
    [InlineData("BagIt-Version: 1.0\n", "has 1 lines")]
    [InlineData("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\nmore\n", "has 3 lines")]
    [InlineData("BagIt-Version: one\nTag-File-Character-Encoding: UTF-8\n", "no version number")]
    [InlineData("BagIt-Version: 1.0\nTag-File-Character-Encoding: KLINGON-7\n", "is not known here")]
    public void A_declaration_that_is_not_as_it_must_be_is_refused(string text, string words)
    {
        BagReport report = Check(bag => File.WriteAllBytes(bag["bagit.txt"], Encoding.UTF8.GetBytes(text)), reseal: true);
        Assert.False(report.IsComplete);
        Assert.Contains(report.Problems, problem => problem.File == "bagit.txt" && problem.Message.Contains(words, StringComparison.Ordinal));
    }

    [Fact]
    public void A_folder_without_anything_of_a_bag_says_what_it_lacks()
    {
        using var folder = new TempFolder();
        BagReport report = new BagCheck(folder.Path).Run();
        Assert.Equal(["", "", "bagit.txt", "data"], report.Problems.Select(problem => problem.File));
        Assert.False(new BagCheck(folder["none"]).Run().IsComplete);
    }

    [Fact]
    public void A_bag_made_by_hand_with_ordinary_tools_is_valid()
    {
        using var bag = new TempFolder();
        (int code, string said) = Tool.Bash(bag.Path, """
            mkdir -p 'data/sub folder' tags
            printf 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n' > bagit.txt
            head -c 3000000 /dev/zero > 'data/sub folder/zeros.bin'
            printf 'Grüße' > 'data/Grüße.txt'
            printf 'x' > tags/remark.txt
            for n in md5 sha1 sha256 sha512; do find data -type f -print0 | xargs -0 ${n}sum > manifest-$n.txt; done
            printf 'Payload-Oxum: 3000007.2\nNote: first\n  second\n' > bag-info.txt
            sha512sum bagit.txt bag-info.txt manifest-*.txt tags/remark.txt > tagmanifest-sha512.txt
            """);
        Assert.True(code == 0, said);
        BagReport report = new BagCheck(bag.Path).Run();
        Assert.Empty(report.Problems);
        Assert.Equal(["md5", "sha1", "sha256", "sha512"], report.Algorithms);
    }

    [Fact]
    public void Any_bytes_in_a_manifest_get_an_answer() => Gen.Byte.Array[0, 200].Sample(
        bytes =>
        {
            using TempFolder bag = WorkedExample.Write();
            File.WriteAllBytes(bag["manifest-sha256.txt"], bytes);
            return !new BagCheck(bag.Path).Run().IsValid;
        },
        iter: 100);
}
