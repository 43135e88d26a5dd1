using Turnstone.Media;

namespace Turnstone.Volumes.Recognised;

/// <summary>Recognises kinds that are named and sized, but not read.</summary>
/// <param name="kinds">Asked in this order.</param>
internal sealed class RecognisedFormat(params Func<PartView, Recognition?>[] kinds) : IVolumeFormat
{
    /// <inheritdoc/>
    public IReadOnlyList<Volume> Open(PartView part, string name) =>
        kinds.Select(kind => kind(part)).FirstOrDefault(found => found is not null) is { } found
            ? [new RecognisedVolume(part, name, found)]
            : [];
}

/// <summary>Reads of fields at fixed places, for structures of which only a few fields count.</summary>
internal static class Fields
{
    /// <summary>The bytes at an offset; empty where any of them is not held.</summary>
    public static ReadOnlySpan<byte> At(this PartView part, long offset, int length)
    {
        var bytes = new byte[length];
        return part.TryRead(offset, bytes) ? bytes : [];
    }

    /// <summary>Text up to the first NUL.</summary>
    public static string Text(ReadOnlySpan<byte> field)
    {
        int end = field.IndexOf((byte)0);
        return System.Text.Encoding.UTF8.GetString(end < 0 ? field : field[..end]);
    }

    /// <summary>A UUID stored in the order in which it is written.</summary>
    public static string Uuid(ReadOnlySpan<byte> field) => new Guid(field[..16], bigEndian: true).ToString();
}
