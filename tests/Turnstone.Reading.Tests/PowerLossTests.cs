using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Media.Target;
using Turnstone.Patients.Faults;
using Turnstone.Reading.Map;
using Turnstone.Reading.Storage;

namespace Turnstone.Reading.Tests;

/// <summary>
/// The power fails: writes that were not made durable are lost, wholly or in part, and the process is gone. Model: the
/// image keeps what was written before the last flush that came back; of later writes any sectors may be there, torn at
/// sector bounds; read.db keeps every committed transaction (SQLite's promise with synchronous FULL). It must hold that
/// the map claims no sector whose bytes are not the patient's.
/// </summary>
public class PowerLossTests
{
    [Fact]
    public void After_a_loss_of_power_at_any_flush_the_map_claims_only_durable_bytes() => Gen.Select(Gen.Int[1, 4], Gen.Bool, Gen.Int).Sample(
        at =>
        {
            MemorySource patient = MemorySource.OfSectors(150_000, seed: 5);
            using var reads = new Reads(patient);
            Assert.ThrowsAny<IOException>(() => SitUntilPowerFails(reads.Folder, patient, at.Item1, before: at.Item2, at.Item3));
            reads.AssertTrue();
            Assert.Equal(ReadEnd.Finished, reads.Sit());
            // Two sectors were refused for good before the power failed, or they are held now: they are never lost from sight.
            Assert.Equal(150_000, reads.Sectors(SectorState.Held).Length + reads.Sectors(SectorState.Refused).Length);
            reads.AssertTrue();
        },
        iter: 12);

    // The bench is not deaf: a folder whose map was written first must fail the same look.
    [Fact]
    public void A_map_that_is_ahead_of_its_image_is_seen()
    {
        MemorySource patient = MemorySource.OfSectors(8000);
        using var reads = new Reads(patient);
        reads.Sit(options: new ReadOptions { Only = Stages.StageName.Survey });
        using (ReadFolder folder = ReadFolder.Begin(reads.Folder, new ReadRecord(patient.Identity, patient.Geometry), needsSpace: false))
            folder.Database.InTransaction(() => folder.Database.Runs.Set(SectorRange.Between(3000, 3001), MapMark.Held));
        Assert.ThrowsAny<Exception>(reads.AssertTrue);
    }

    private static void SitUntilPowerFails(string path, MemorySource patient, int flush, bool before, int seed)
    {
        using ReadFolder folder = ReadFolder.Begin(path, new ReadRecord(patient.Identity, patient.Geometry), needsSpace: false, image => new ForgetfulImage(image, flush, before, new Random(seed)));
        IBlockSource failing = new RefusingSource(patient, RefusalCause.Medium, SectorRange.Between(70_000, 70_002));
        new PatientRead(failing, folder, guide: null, _ => { }).Run(new ReadOptions(), CancellationToken.None);
        throw new IOException("it came to its end before the power failed");
    }

    /// <summary>Holds writes back until a flush; when the power fails, some of them are there and some are not.</summary>
    private sealed class ForgetfulImage(IImageTarget inner, int failsAtFlush, bool before, Random chance) : IImageTarget
    {
        private readonly List<(long Offset, byte[] Bytes)> _pending = [];
        private readonly Lock _lock = new();
        private int _flushes;

        public long Length => inner.Length;

        public void Write(long offset, ReadOnlySpan<byte> bytes)
        {
            lock (_lock)
                _pending.Add((offset, bytes.ToArray()));
        }

        public void Read(long offset, Span<byte> into)
        {
            inner.Read(offset, into);
            lock (_lock)
            {
                foreach ((long at, byte[] bytes) in _pending)
                {
                    long from = Math.Max(at, offset), to = Math.Min(at + bytes.Length, offset + into.Length);
                    if (from < to)
                        bytes.AsSpan((int)(from - at), (int)(to - from)).CopyTo(into[(int)(from - offset)..]);
                }
            }
        }

        public void MakeDurable()
        {
            lock (_lock)
            {
                bool fails = ++_flushes == failsAtFlush;
                foreach ((long offset, byte[] bytes) in _pending)
                    WriteSectors(offset, bytes, fails && before);
                _pending.Clear();
                inner.MakeDurable();
                if (fails)
                    throw new TargetFailure("the power failed");
            }
        }

        public void Dispose() => inner.Dispose();

        private void WriteSectors(long offset, byte[] bytes, bool torn)
        {
            for (int at = 0; at < bytes.Length; at += 512)
            {
                if (!torn || chance.Next(2) == 0)
                    inner.Write(offset + at, bytes.AsSpan(at, Math.Min(512, bytes.Length - at)));
            }
        }
    }
}
