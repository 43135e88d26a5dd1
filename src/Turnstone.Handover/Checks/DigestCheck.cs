using System.Buffers;
using System.Security.Cryptography;
using Microsoft.Win32.SafeHandles;

namespace Turnstone.Handover;

/// <summary>Compares the digests of one file with what the manifests say of it; the file is read once.</summary>
internal sealed class DigestCheck(string bag)
{
    private const int Step = 1 << 20;

    /// <summary>The claims that don't fit, or why the file cannot be read.</summary>
    public IReadOnlyList<BagProblem> Of(string path, IReadOnlyList<(Manifest Manifest, Claim Claim)> claims)
    {
        IncrementalHash[] hashes = [.. claims.Select(claim => IncrementalHash.CreateHash(claim.Manifest.Kind!.Algorithm))];
        try
        {
            Digest(Path.Combine(bag, path), hashes);
            return [.. claims.Zip(hashes, (claim, hash) => Compare(path, claim.Manifest, claim.Claim, hash)).OfType<BagProblem>()];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return [new BagProblem(BagFault.NotValid, path, 0, $"cannot be read: {e.Message}")];
        }
        finally
        {
            Array.ForEach(hashes, hash => hash.Dispose());
        }
    }

    private static BagProblem? Compare(string path, Manifest manifest, Claim claim, IncrementalHash hash)
    {
        byte[] found = hash.GetHashAndReset();
        return found.AsSpan().SequenceEqual(claim.Digest) ? null : new BagProblem(BagFault.NotValid, manifest.File, claim.Line,
            $"'{path}' has the {manifest.Kind!.Name} digest {Convert.ToHexStringLower(found)}: the file is not what it was when the bag was made");
    }

    private static void Digest(string full, IncrementalHash[] hashes)
    {
        using SafeFileHandle file = File.OpenHandle(full, FileMode.Open, FileAccess.Read, FileShare.ReadWrite, FileOptions.SequentialScan);
        byte[] now = ArrayPool<byte>.Shared.Rent(Step), next = ArrayPool<byte>.Shared.Rent(Step);
        try
        {
            int length = RandomAccess.Read(file, now.AsSpan(0, Step), 0), following = 0;
            for (long at = length; length > 0; at += length)
            {
                if (length < Step / 2)
                {
                    Array.ForEach(hashes, hash => hash.AppendData(now, 0, length));
                    following = RandomAccess.Read(file, next.AsSpan(0, Step), at);
                }
                else
                {
                    Action[] work = [.. hashes.Select(hash => (Action)(() => hash.AppendData(now, 0, length))),
                        () => following = RandomAccess.Read(file, next.AsSpan(0, Step), at)];
                    Parallel.Invoke(work);
                }

                (now, next, length) = (next, now, following);
            }
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(now);
            ArrayPool<byte>.Shared.Return(next);
        }
    }
}
