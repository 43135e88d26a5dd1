using System.Security.Cryptography;
using Turnstone.Media;
using Turnstone.Volumes;

namespace Turnstone.Bench;

/// <summary>The bytes of an entry as its reader gives them.</summary>
public static class EntryBytes
{
    /// <summary>SHA-256 of an entry's bytes, or null where any is missing.</summary>
    public static string? Digest(ISectorView disk, FileContent content)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var buffer = new byte[1 << 16];
        for (long at = 0; at < content.Length; at += buffer.Length)
        {
            Span<byte> part = buffer.AsSpan(0, (int)Math.Min(buffer.Length, content.Length - at));
            if (!content.TryRead(disk, at, part))
                return null;
            hash.AppendData(part);
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }
}
