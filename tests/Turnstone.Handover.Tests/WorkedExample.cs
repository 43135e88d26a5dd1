namespace Turnstone.Handover.Tests;

/// <summary>A complete bag written down byte for byte: payload of three files, every digest recomputed with coreutils.</summary>
/// <remarks>After the rules of RFC 8493 (Kunze, Littman, Madden, Scancella, Adams, 2018); digests checked with sha256sum and sha512sum.</remarks>
internal static class WorkedExample
{
    public static IReadOnlyDictionary<string, string> Files { get; } = new Dictionary<string, string>(StringComparer.Ordinal)
    {
        ["data/letter.txt"] = "hello\n",
        ["data/photos/empty.jpg"] = "",
        ["data/a%b.txt"] = "percent and newline\n",
        ["bagit.txt"] = """
            BagIt-Version: 1.0
            Tag-File-Character-Encoding: UTF-8

            """,
        ["bag-info.txt"] = """
            Source-Organization: Example Lab
            External-Identifier: CASE-0001
            Bagging-Date: 2026-01-31
            Payload-Oxum: 26.3

            """,
        ["manifest-sha256.txt"] = """
            e5ff00dd6de15b0654f92e6b7e67f895180a8213674b101e060d046a6a438040  data/a%25b.txt
            5891b5b522d5df086d0ff0b110fbd9d21bb4fc7163af34d08286a2e846f6be03  data/letter.txt
            e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  data/photos/empty.jpg

            """,
        ["manifest-sha512.txt"] = """
            1e03972bb287b83b7b9ee87513124b5cd54bb4da15e9d32924d9406357862b767c8969569d866939f41f40898e5bffe287fb6eb27b6f2dc521e7f07363ea9bb5  data/a%25b.txt
            e7c22b994c59d9cf2b48e549b1e24666636045930d3da7c1acb299d1c3b7f931f94aae41edda2c2b207a36e10f8bcb8d45223e54878f5b316e7ce3b6bc019629  data/letter.txt
            cf83e1357eefb8bdf1542850d66d8007d620e4050b5715dc83f4a921d36ce9ce47d0d13c5d85f2b0ff8318d2877eec2f63b931bd47417a81a538327af927da3e  data/photos/empty.jpg

            """,
        ["tagmanifest-sha256.txt"] = """
            3b1ab8a1b7544e6a69c6d21eeb1a30f5ab3cef319603aac02ba2803f19cf724a  bag-info.txt
            1712ecfb074bf29c4188ad3421032509159a09739fd604f8fe57038b4ddefcc9  bagit.txt
            38f121da9ffcdb8dde967938471e27b27cdf817104df4ff8ac8b7b1f5c70b1df  manifest-sha256.txt
            f7408d35bffb16c69b80ec8f9d10500cfa339f96927a985a53d8d7042edf4b72  manifest-sha512.txt

            """,
        ["tagmanifest-sha512.txt"] = """
            0c228b47d3b5c7c16ed3f87cfd26eb8e07ec8900732e115eeb8fbfbe2e284baab1d529825a11dfc848e92234ffd6bc87c06a076f521f04ce3704c2a6bd9e2ef2  bag-info.txt
            1d73ae108d4109b61f56698a5e19ee1f8947bdf8940bbce6adbe5e0940c2363caace6a547b4f1b3ec6a4fd2b7fa845e9cb9d28823bc72c59971718bb26f2fbd8  bagit.txt
            3ecf7123d38abb2096b099955ab282e0a060937a0f5ee9bdd45aa0644445d9983a5611c282e28ada5c69796f80cdf9e66acce22f82f9263fa08d2ee92d7a388d  manifest-sha256.txt
            1d5e0e02532c2b206035aede60678a9d5fcf180a0beaf2932728e2b307d63d42a4e04e3bc64afcdd64987a16232216b2886d164f8f2c96602ac4e4817ea2fd2f  manifest-sha512.txt

            """,
    };

    /// <summary>Writes the bag into a folder.</summary>
    public static TempFolder Write()
    {
        var folder = new TempFolder();
        foreach ((string path, string text) in Files)
        {
            Directory.CreateDirectory(Path.GetDirectoryName(folder[path])!);
            File.WriteAllText(folder[path], text);
        }

        return folder;
    }

    /// <summary>Writes both tag manifests anew with the system's own tools.</summary>
    public static void Reseal(TempFolder bag)
    {
        (int code, string said) = Tool.Bash(bag.Path, "for n in 256 512; do sha${n}sum bag-info.txt bagit.txt manifest-*.txt > tagmanifest-sha$n.txt; done");
        Assert.True(code == 0, said);
    }
}
