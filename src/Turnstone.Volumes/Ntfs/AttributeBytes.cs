namespace Turnstone.Volumes.Ntfs;

/// <summary>Bytes of attributes that describe the volume itself: lists, indexes, bitmaps. Places are those of the volume.</summary>
internal static class AttributeBytes
{
    /// <summary>The attribute as plain content with places of the volume, to be read through <see cref="NtfsLayout.Part"/>; null for a resident one or one of unknown size.</summary>
    public static StoredContent? Stored(AttributeFacts facts, NtfsLayout layout) => facts is { Value: null, Size: long size }
        ? new StoredContent(RunExtents.Of(facts.Runs(), layout.Boot.ClusterBytes, volumeStart: 0, size, facts.ValidSize))
        : null;

    /// <summary>The attribute's bytes from its start to the first that is not held.</summary>
    /// <param name="facts">The attribute.</param>
    /// <param name="layout">The volume.</param>
    /// <param name="most">No more than these many bytes.</param>
    /// <param name="isWhole">Whether that is all of it.</param>
    public static byte[] Prefix(AttributeFacts facts, NtfsLayout layout, int most, out bool isWhole)
    {
        if (facts.Value is { } value)
        {
            isWhole = facts.ValueHoles.Count == 0 && value.Length <= most;
            return value[..(int)Math.Min(most, isWhole ? value.Length : facts.ValueHoles.Count == 0 ? most : facts.ValueHoles[0].Offset)];
        }

        if (Stored(facts, layout) is not { } stored)
        {
            isWhole = false;
            return [];
        }

        var bytes = new byte[(int)Math.Min(most, stored.Length)];
        int held = stored.TryRead(layout.Part, 0, bytes) ? bytes.Length : (int)Math.Min(bytes.Length, stored.Missing(layout.Part).Select(hole => hole.Offset).FirstOrDefault(bytes.Length));
        isWhole = held == stored.Length;
        return bytes[..held];
    }
}
