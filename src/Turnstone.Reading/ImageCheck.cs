using System.Security.Cryptography;
using Turnstone.Media;
using Turnstone.Media.Target;
using Turnstone.Reading.Map;
using Turnstone.Reading.Recording;
using Turnstone.Reading.Storage;

namespace Turnstone.Reading;

/// <summary>What is wrong with a stretch of an image.</summary>
/// <param name="Place">The MiB, in bytes of the image.</param>
/// <param name="What">What is wrong, for a person.</param>
public sealed record ImageFault(ByteRange Place, string What);

/// <summary>Compares an image with the digests that were taken when its bytes came from the patient.</summary>
/// <param name="folder">The read.</param>
public sealed class ImageCheck(ReadFolder folder)
{
    private readonly SectorSize _sector = folder.Record.Geometry.Logical;

    /// <summary>MiBs that were compared so far.</summary>
    public long Compared { get; private set; }

    /// <summary>Goes through the image and yields what does not fit; nothing when all is well.</summary>
    public IEnumerable<ImageFault> Faults()
    {
        using IEnumerator<(long Mib, long HeldSectors, byte[] Sha256)> digests = folder.Database.AllDigests().GetEnumerator();
        bool any = digests.MoveNext();
        byte[] buffer = new byte[Checkpoint.MibBytes];
        foreach (long mib in MibsWithHeld())
        {
            Compared++;
            while (any && digests.Current.Mib < mib)
            {
                yield return new ImageFault(Place(digests.Current.Mib), "a digest is recorded and the map calls nothing held here");
                any = digests.MoveNext();
            }

            bool recorded = any && digests.Current.Mib == mib;
            string? fault = recorded ? Compare(mib, digests.Current.HeldSectors, digests.Current.Sha256, buffer) : "held, and no digest is recorded";
            if (fault is not null)
                yield return new ImageFault(Place(mib), fault);
            any = recorded ? digests.MoveNext() : any;
        }
    }

    private IEnumerable<long> MibsWithHeld()
    {
        long next = 0;
        foreach (SectorRange held in folder.Map.InState(SectorState.Held, folder.Map.Whole))
        {
            ByteRange bytes = held.Bytes(_sector);
            for (long mib = Math.Max(next, bytes.Offset / Checkpoint.MibBytes); mib * Checkpoint.MibBytes < bytes.End; mib++)
            {
                yield return mib;
                next = mib + 1;
            }
        }
    }

    private string? Compare(long mib, long sectors, byte[] expected, byte[] buffer)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        long found = 0;
        foreach (SectorRange held in folder.Map.InState(SectorState.Held, Checkpoint.MibSectors(mib, _sector, folder.Map.Whole)))
        {
            ByteRange bytes = held.Bytes(_sector);
            Span<byte> part = buffer.AsSpan(0, (int)bytes.Length);
            try
            {
                folder.Image.Read(bytes.Offset, part);
            }
            catch (TargetFailure e)
            {
                return e.Message;
            }

            hash.AppendData(part);
            found += held.Count.Value;
        }

        if (found != sectors)
            return $"the digest was made of {sectors} sectors and the map calls {found} held";
        return hash.GetHashAndReset().AsSpan().SequenceEqual(expected) ? null : "the bytes are not those that came from the patient";
    }

    private static ByteRange Place(long mib) => new(mib * Checkpoint.MibBytes, Checkpoint.MibBytes);
}
