using System.Buffers;
using System.Security.Cryptography;

namespace Turnstone.Findings;

/// <summary>Digest of a file's content as it is read from the patient.</summary>
public static class ContentDigest
{
    private const int Step = 1 << 20;

    /// <summary>SHA-256 in lower-case hex, or null where bytes are missing.</summary>
    /// <remarks>FIPS 180-4. Answers null also when a read finds bytes missing that the grading saw held.</remarks>
    public static string? Sha256(FileFinding finding)
    {
        if (!finding.AllBytesHeld)
            return null;
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        long size = finding.Entry.Size ?? 0;
        byte[] buffer = ArrayPool<byte>.Shared.Rent((int)Math.Clamp(size, 1, Step));
        try
        {
            for (long at = 0; at < size;)
            {
                Span<byte> part = buffer.AsSpan(0, (int)Math.Min(buffer.Length, size - at));
                if (!finding.TryRead(at, part))
                    return null;
                hash.AppendData(part);
                at += part.Length;
            }
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }
}
