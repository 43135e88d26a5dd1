using System.Buffers;
using System.Security.Cryptography;
using Microsoft.Win32.SafeHandles;

namespace Turnstone.Handover;

/// <summary>Compares the digests of one file with what the manifests say of it; the file is read once.</summary>
internal sealed class DigestCheck(string bag, BagFiles files)
{
    private const int Step = 1 << 20;

    /// <summary>The digests that don't fit, or why the file cannot be read.</summary>
    /// <param name="number">Which file.</param>
    /// <param name="manifests">The manifests that give it a digest.</param>
    public IReadOnlyList<BagProblem> Of(int number, IReadOnlyList<Manifest> manifests)
    {
        IncrementalHash[] hashes = [.. manifests.Select(manifest => IncrementalHash.CreateHash(manifest.Kind!.Algorithm))];
        try
        {
            Digest(Path.Combine(bag, files.Paths[number]), hashes);
            return [.. manifests.Zip(hashes, (manifest, hash) => Compare(number, manifest, hash)).OfType<BagProblem>()];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return [new BagProblem(BagFault.NotValid, files.Paths[number], 0, $"cannot be read: {e.Message}")];
        }
        finally
        {
            Array.ForEach(hashes, hash => hash.Dispose());
        }
    }

    private BagProblem? Compare(int number, Manifest manifest, IncrementalHash hash)
    {
        byte[] found = hash.GetHashAndReset();
        return manifest.DigestOf(number).SequenceEqual(found) ? null : new BagProblem(BagFault.NotValid, manifest.File, manifest.LineOf(number),
            $"'{files.Paths[number]}' has the {manifest.Name} digest {Convert.ToHexStringLower(found)}: the file is not what it was when the bag was made");
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
                    Together.Run(work);
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
