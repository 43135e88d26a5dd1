using System.Security.Cryptography;

namespace Turnstone.Handover;

/// <summary>A digest that can be checked here.</summary>
/// <param name="Name">As in a manifest's file name.</param>
/// <param name="Bytes">Its length.</param>
/// <param name="Algorithm">What computes it.</param>
/// <param name="IsWeak">Whether two files with one digest can be made on purpose.</param>
internal sealed record DigestKind(string Name, int Bytes, HashAlgorithmName Algorithm, bool IsWeak = false)
{
    private static readonly DigestKind[] All =
    [
        new("md5", 16, HashAlgorithmName.MD5, IsWeak: true),
        new("sha1", 20, HashAlgorithmName.SHA1, IsWeak: true),
        new("sha256", 32, HashAlgorithmName.SHA256),
        new("sha384", 48, HashAlgorithmName.SHA384),
        new("sha512", 64, HashAlgorithmName.SHA512),
    ];

    /// <summary>The digest of that name, or null for one that is not known here.</summary>
    public static DigestKind? Of(string name) => Array.Find(All, kind => kind.Name == name);
}
