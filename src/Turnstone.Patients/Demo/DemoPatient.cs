using System.Buffers.Binary;
using System.Text;
using Turnstone.Media;
using Turnstone.Media.Files;
using Turnstone.Patients.Faults;

namespace Turnstone.Patients.Demo;

/// <summary>The invented patient of the demo: a portable drive with field recordings of a marsh that exists nowhere, dropped on its last trip.</summary>
/// <remarks>Everything follows from a fixed seed: the same bytes, the same bad sectors, the same answers each time.</remarks>
public static class DemoPatient
{
    private const long DriveBytes = 192L << 20, PartitionStart = 1 << 20;
    private const int ClusterBytes = 32 << 10, Seed = 20310402, SamplesPerSecond = 16_000;

    private static readonly string[] Days = ["2031-04-02 Ombrel shore", "2031-04-03 Reed channel", "2031-04-05 Night hide"];
    private static readonly string[] Subjects = ["dawn chorus", "rain on the hide", "Röhricht bei Nebel", "two rails calling", "水辺の朝", "wind in sedge", "frogs, far bank", "geese overhead"];

    /// <summary>Writes the drive's image.</summary>
    /// <exception cref="IOException">The file cannot be written.</exception>
    public static void Write(string path)
    {
        using FileStream image = File.Create(path);
        image.SetLength(DriveBytes);
        image.Write(PartitionTable());
        image.Position = PartitionStart;
        ExFatImage.Write(image, DriveBytes - PartitionStart, ClusterBytes, "FIELD TRIP", Files());
    }

    /// <summary>Opens the image as the failing drive that it stands for.</summary>
    /// <exception cref="IOException">The file cannot be opened.</exception>
    public static IBlockSource Open(string path) => new RefusingSource(new Named(new FileSource(path, SectorSize.Small)), Faults());

    /// <summary>Where the drive refuses, and how.</summary>
    public static IReadOnlyList<Fault> Faults()
    {
        // A mark that runs over neighbouring tracks shows as short runs at an even distance; beside it a lone sector, one
        // that gives in after a while, and damage where nothing lies.
        var faults = new List<Fault>();
        for (int track = 0; track < 7; track++)
            faults.Add(Bad(61_440 + (track * 2903), 8 + (track * 3)));
        faults.Add(Bad(30_000, 8));
        faults.Add(Bad(143_360, 16) with { GivesInOnAsk = 4 });
        faults.Add(Bad(360_000, 64));
        return faults;

        static Fault Bad(long first, long count) => new(SectorRange.Between(first, first + count)) { NamesFirstBad = true, Takes = TimeSpan.FromMilliseconds(25) };
    }

    private static List<InventedFile> Files()
    {
        var random = new Random(Seed);
        var files = new List<InventedFile>();
        var when = new DateTime(2031, 4, 2, 5, 12, 0, DateTimeKind.Utc);
        foreach (string day in Days)
        {
            for (int take = 1; take <= 10; take++)
            {
                when = when.AddMinutes(11);
                string name = $"{day}/{take:00} {Subjects[random.Next(Subjects.Length)]}.wav";
                files.Add(new InventedFile(name, Recording(random, seconds: random.Next(60, 170)), when, take % 3 == 0 ? 5 : 1));
            }

            files.Add(new InventedFile($"{day}/notes.txt", Notes(day, random), when, 1));
            when = when.AddHours(24);
        }

        files.Add(new InventedFile("kit list.csv", Encoding.UTF8.GetBytes("item,count\nrecorder,2\nparabolic dish,1\nwading boots,3\n"), when));
        files.Add(new InventedFile("empty take.wav", [], when));
        return files;
    }

    // Two voices that drift and a little noise: enough to hear, and no two stretches alike.
    private static byte[] Recording(Random random, int seconds)
    {
        int samples = seconds * SamplesPerSecond;
        byte[] wav = new byte[44 + (samples * 2)];
        WavHeader(wav, samples);
        double low = random.NextDouble() + 0.5, high = random.NextDouble() + 3;
        for (int i = 0; i < samples; i++)
        {
            double t = (double)i / SamplesPerSecond;
            double voice = (Math.Sin(t * 440 * low * Math.Tau) * 0.2) + (Math.Sin((t * 440 * high * Math.Tau) + (3 * Math.Sin(t * 5))) * 0.1);
            BinaryPrimitives.WriteInt16LittleEndian(wav.AsSpan(44 + (i * 2)), (short)((voice + ((random.NextDouble() - 0.5) * 0.05)) * short.MaxValue));
        }

        return wav;
    }

    // RIFF WAVE, PCM, one channel of 16 bits (IBM and Microsoft, Multimedia Programming Interface 1.0, 1991, from memory).
    private static void WavHeader(Span<byte> wav, int samples)
    {
        "RIFF"u8.CopyTo(wav);
        BinaryPrimitives.WriteInt32LittleEndian(wav[4..], 36 + (samples * 2));
        "WAVEfmt "u8.CopyTo(wav[8..]);
        BinaryPrimitives.WriteInt32LittleEndian(wav[16..], 16);
        BinaryPrimitives.WriteInt16LittleEndian(wav[20..], 1);
        BinaryPrimitives.WriteInt16LittleEndian(wav[22..], 1);
        BinaryPrimitives.WriteInt32LittleEndian(wav[24..], SamplesPerSecond);
        BinaryPrimitives.WriteInt32LittleEndian(wav[28..], SamplesPerSecond * 2);
        BinaryPrimitives.WriteInt16LittleEndian(wav[32..], 2);
        BinaryPrimitives.WriteInt16LittleEndian(wav[34..], 16);
        "data"u8.CopyTo(wav[36..]);
        BinaryPrimitives.WriteInt32LittleEndian(wav[40..], samples * 2);
    }

    private static byte[] Notes(string day, Random random)
    {
        var text = new StringBuilder($"Notes, {day}\n");
        for (int take = 1; take <= 10; take++)
            text.Append(System.Globalization.CultureInfo.InvariantCulture, $"take {take}: level {random.Next(-30, -6)} dB, wind {random.Next(0, 6)}\n");
        return Encoding.UTF8.GetBytes(text.ToString());
    }

    // One partition of type 07 to the end of the drive.
    private static byte[] PartitionTable()
    {
        byte[] sector = new byte[512];
        sector[446 + 4] = 7;
        BinaryPrimitives.WriteUInt32LittleEndian(sector.AsSpan(446 + 8), (uint)(PartitionStart / 512));
        BinaryPrimitives.WriteUInt32LittleEndian(sector.AsSpan(446 + 12), (uint)((DriveBytes - PartitionStart) / 512));
        sector[510] = 0x55;
        sector[511] = 0xAA;
        return sector;
    }

    /// <summary>Gives the image the name of the drive that it stands for.</summary>
    private sealed class Named(IBlockSource inner) : IBlockSource
    {
        public SourceIdentity Identity { get; } = new(inner.Identity.Address, "invented portable drive", "Demo Portable 192", "TSDEMO0042");

        // The surface has sectors of 4096 bytes: eight of those that are addressed live and die together.
        public Geometry Geometry { get; } = inner.Geometry with { Physical = new SectorSize(4096) };

        public ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit) => inner.Read(range, into, limit);

        public void Dispose() => inner.Dispose();
    }
}
