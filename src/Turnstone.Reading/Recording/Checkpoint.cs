using System.Buffers;
using System.Security.Cryptography;
using Turnstone.Media;
using Turnstone.Reading.Map;
using Turnstone.Reading.Storage;

namespace Turnstone.Reading.Recording;

/// <summary>Makes a batch durable: bytes first, map second, so that the map never says held of what could be lost.</summary>
internal sealed class Checkpoint(ReadFolder folder)
{
    public const int MibBytes = 1 << 20;
    private readonly SectorSize _sector = folder.Record.Geometry.Logical;

    /// <summary>Makes one batch durable.</summary>
    /// <exception cref="Media.Target.TargetFailure">The target did not take it; nothing of the batch is in the map then.</exception>
    public void Make(Batch batch)
    {
        folder.Image.MakeDurable();
        folder.Database.InTransaction(() =>
        {
            foreach (Change change in batch.Changes)
                folder.Database.Runs.Set(change.Range, change.Mark);
            foreach ((long mib, byte[] digest) in batch.Digests)
                folder.Database.Digests.Set(mib, MibBytes / _sector.Bytes, digest);
            foreach (long mib in batch.TouchedMibs)
                Renew(mib);
        });
    }

    // From the durable rows, not from the map in memory, which is ahead of them.
    private void Renew(long mib)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        long sectors = 0;
        foreach (SectorRange held in HeldRows(mib))
        {
            Append(hash, held.Bytes(_sector));
            sectors += held.Count.Value;
        }

        if (sectors > 0)
            folder.Database.Digests.Set(mib, sectors, hash.GetHashAndReset());
    }

    private IEnumerable<SectorRange> HeldRows(long mib)
    {
        SectorRange within = MibSectors(mib, _sector, folder.Map.Whole);
        RunTable runs = folder.Database.Runs;
        MapRun[] rows = [.. runs.RowBefore(within.Start.Value) is { } before ? [before] : Array.Empty<MapRun>(), .. runs.Rows(within.Start.Value, within.End.Value)];
        return rows.Where(row => row.Mark.State == SectorState.Held).Select(row => row.Range.Intersect(within)).Where(part => !part.IsEmpty);
    }

    private void Append(IncrementalHash hash, ByteRange range)
    {
        byte[] buffer = ArrayPool<byte>.Shared.Rent((int)range.Length);
        Span<byte> bytes = buffer.AsSpan(0, (int)range.Length);
        folder.Image.Read(range.Offset, bytes);
        hash.AppendData(bytes);
        ArrayPool<byte>.Shared.Return(buffer);
    }

    /// <summary>The sectors of one MiB of the image, cut at the end.</summary>
    public static SectorRange MibSectors(long mib, SectorSize sector, SectorRange whole)
    {
        long each = MibBytes / sector.Bytes;
        return new SectorRange(new Lba(mib * each), new SectorCount(each)).Intersect(whole);
    }
}
