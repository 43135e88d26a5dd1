using System.Buffers;
using System.Security.Cryptography;

namespace Turnstone.Handover;

/// <summary>SHA-256 and SHA-512 of the same bytes (FIPS 180-4).</summary>
/// <param name="Sha256">Lower-case hex.</param>
/// <param name="Sha512">Lower-case hex.</param>
internal readonly record struct TwinDigest(string Sha256, string Sha512)
{
    /// <summary>Of a file; what cannot be read has no digest.</summary>
    public static TwinDigest? OfFile(string path)
    {
        using var hash = new TwinHash();
        byte[] buffer = ArrayPool<byte>.Shared.Rent(1 << 20);
        try
        {
            using FileStream file = new(path, FileMode.Open, FileAccess.Read, FileShare.Read, 0, FileOptions.SequentialScan);
            for (int length; (length = file.Read(buffer)) > 0;)
                hash.Take(buffer.AsSpan(0, length));
            return hash.Finish();
        }
        catch (IOException)
        {
            return null;
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
    }

    /// <summary>Of bytes in memory.</summary>
    public static TwinDigest Of(ReadOnlySpan<byte> bytes) =>
        new(Convert.ToHexStringLower(SHA256.HashData(bytes)), Convert.ToHexStringLower(SHA512.HashData(bytes)));
}

/// <summary>Takes bytes as they pass, and gives both digests at the end.</summary>
internal sealed class TwinHash : IDisposable
{
    private readonly IncrementalHash _sha256 = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
    private readonly IncrementalHash _sha512 = IncrementalHash.CreateHash(HashAlgorithmName.SHA512);

    /// <summary>Takes the next bytes for SHA-256; may run beside <see cref="Take512"/>.</summary>
    public void Take256(ReadOnlySpan<byte> bytes) => _sha256.AppendData(bytes);

    /// <summary>Takes the next bytes for SHA-512; may run beside <see cref="Take256"/>.</summary>
    public void Take512(ReadOnlySpan<byte> bytes) => _sha512.AppendData(bytes);

    /// <summary>Takes the next bytes for both.</summary>
    public void Take(ReadOnlySpan<byte> bytes)
    {
        Take256(bytes);
        Take512(bytes);
    }

    /// <summary>Both digests; the hash starts anew.</summary>
    public TwinDigest Finish() =>
        new(Convert.ToHexStringLower(_sha256.GetHashAndReset()), Convert.ToHexStringLower(_sha512.GetHashAndReset()));

    /// <inheritdoc/>
    public void Dispose()
    {
        _sha256.Dispose();
        _sha512.Dispose();
    }
}
