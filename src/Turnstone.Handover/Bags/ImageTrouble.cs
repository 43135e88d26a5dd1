using Turnstone.Findings;

namespace Turnstone.Handover;

/// <summary>Keeps trouble with the image apart from trouble with the target: both come as an IOException.</summary>
internal static class ImageTrouble
{
    /// <summary>Reads bytes of a file from the image.</summary>
    /// <exception cref="HandoverException">The image itself cannot be read.</exception>
    public static bool TryRead(FileFinding finding, long at, Span<byte> into)
    {
        try
        {
            return finding.TryRead(at, into);
        }
        catch (IOException e)
        {
            throw Explain(e);
        }
    }

    /// <summary>Takes the findings one by one; what goes wrong with the image on the way says so.</summary>
    /// <exception cref="HandoverException">The image itself cannot be read.</exception>
    public static IEnumerable<FileFinding> Watch(IEnumerable<FileFinding> findings)
    {
        using IEnumerator<FileFinding> next = findings.GetEnumerator();
        while (Move(next))
            yield return next.Current;
    }

    private static bool Move(IEnumerator<FileFinding> next)
    {
        try
        {
            return next.MoveNext();
        }
        catch (IOException e)
        {
            throw Explain(e);
        }
    }

    private static HandoverException Explain(IOException e) =>
        new($"The image cannot be read: {e.Message} The bag is unfinished. Check the medium that the image lies on, verify the image, then hand over anew.", e);
}
