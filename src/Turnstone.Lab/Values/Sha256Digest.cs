using System.Security.Cryptography;
using System.Text;

namespace Turnstone.Lab.Values;

/// <summary>SHA-256 of some bytes (FIPS 180-4), as 64 lower-case hex digits.</summary>
public readonly record struct Sha256Digest
{
    private readonly string? _hex;

    /// <summary>Takes 64 lower-case hex digits.</summary>
    /// <exception cref="ArgumentException">Anything else.</exception>
    public Sha256Digest(string hex)
    {
        if (!IsHex(hex))
            throw new ArgumentException($"'{hex}' is no SHA-256 digest; 64 digits 0-9 a-f are expected", nameof(hex));
        _hex = hex;
    }

    /// <summary>32 zero bytes: what stands before the first line of a chain; also what <c>default</c> means.</summary>
    public static Sha256Digest Zero => default;

    /// <summary>The digest in hex.</summary>
    public string Hex => _hex ?? new string('0', 64);

    /// <summary>Digest of the bytes.</summary>
    public static Sha256Digest Of(ReadOnlySpan<byte> bytes) => new(Convert.ToHexStringLower(SHA256.HashData(bytes)));

    /// <summary>Digest of the text in UTF-8.</summary>
    public static Sha256Digest Of(string text) => Of(Encoding.UTF8.GetBytes(text));

    internal static bool IsHex(string? text) => text is { Length: 64 } && text.All(c => char.IsAsciiDigit(c) || c is >= 'a' and <= 'f');

    internal static string? TryRead(string? text, out Sha256Digest digest)
    {
        digest = IsHex(text) ? new Sha256Digest(text!) : default;
        return IsHex(text) ? null : $"'{text}' is no SHA-256 digest; 64 digits 0-9 a-f are expected";
    }

    /// <inheritdoc/>
    public override string ToString() => Hex;
}
