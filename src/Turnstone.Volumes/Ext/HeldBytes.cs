using Turnstone.Media;

namespace Turnstone.Volumes.Ext;

/// <summary>A stretch of metadata and which of its bytes are held; the others read as zero.</summary>
/// <param name="Data">The bytes.</param>
/// <param name="Missing">Offsets into the bytes that are not held, in order; empty where all are.</param>
internal sealed record HeldBytes(byte[] Data, IReadOnlyList<ByteRange> Missing)
{
    public bool IsWhole => Missing.Count == 0;

    public bool IsNothing => Missing.Count == 1 && Missing[0].Length == Data.Length;

    /// <summary>Whether all of these bytes are held; false also where they lie outside.</summary>
    public bool Holds(int offset, int length)
    {
        if (offset < 0 || length > Data.Length - offset)
            return false;
        foreach (ByteRange hole in Missing)
        {
            if (hole.Offset < offset + length && offset < hole.End)
                return false;
        }

        return true;
    }
}
