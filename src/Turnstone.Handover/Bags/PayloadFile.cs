using System.Buffers;
using Microsoft.Win32.SafeHandles;
using Turnstone.Findings;
using Turnstone.Volumes;

namespace Turnstone.Handover;

/// <summary>Writes one file of the client into the bag, and digests the bytes as they go out.</summary>
internal static class PayloadFile
{
    private const int Step = 1 << 20;

    /// <summary>Writes a file's bytes, zeros where they are missing, and sets its time.</summary>
    /// <exception cref="HandoverException">Bytes that were held when the file was graded are gone.</exception>
    /// <exception cref="IOException">The target does not take it.</exception>
    public static Written Write(string bag, Placed placed)
    {
        string path = placed.Path!, full = Path.Combine(bag, path);
        long size = placed.Finding.Entry.Size ?? 0;
        using SafeFileHandle file = File.OpenHandle(full, FileMode.CreateNew, FileAccess.Write, FileShare.None);
        using var hash = new TwinHash();
        if (size <= Step)
            CopySmall(placed.Finding, (int)size, file, hash);
        else
            CopyLarge(placed.Finding, size, file, hash);
        SetTimes(file, placed.Finding.Entry.Times);
        return new Written(path, size, hash.Finish());
    }

    /// <summary>Writes a text of our own that stands for or beside a client's file.</summary>
    public static Written WriteText(string bag, string path, byte[] text)
    {
        using SafeFileHandle file = File.OpenHandle(Path.Combine(bag, path), FileMode.CreateNew, FileAccess.Write, FileShare.None);
        RandomAccess.Write(file, text, 0);
        return new Written(path, text.Length, TwinDigest.Of(text));
    }

    private static void CopySmall(FileFinding finding, int size, SafeFileHandle file, TwinHash hash)
    {
        byte[] buffer = ArrayPool<byte>.Shared.Rent(Math.Max(1, size));
        try
        {
            Span<byte> bytes = buffer.AsSpan(0, size);
            Read(finding, 0, bytes);
            hash.Take(bytes);
            RandomAccess.Write(file, bytes, 0);
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
    }

    // While one piece is digested twice and written, the next is read: four things that need each other only at the seams.
    private static void CopyLarge(FileFinding finding, long size, SafeFileHandle file, TwinHash hash)
    {
        byte[] now = ArrayPool<byte>.Shared.Rent(Step), next = ArrayPool<byte>.Shared.Rent(Step);
        try
        {
            Read(finding, 0, now.AsSpan(0, Step));
            for (long at = 0; at < size; at += Step)
            {
                int length = (int)Math.Min(Step, size - at), following = (int)Math.Clamp(size - at - Step, 0, Step);
                Together.Run(
                    () => hash.Take512(now.AsSpan(0, length)),
                    () => hash.Take256(now.AsSpan(0, length)),
                    () => RandomAccess.Write(file, now.AsSpan(0, length), at),
                    () => Read(finding, at + Step, next.AsSpan(0, following)));
                (now, next) = (next, now);
            }
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(now);
            ArrayPool<byte>.Shared.Return(next);
        }
    }

    private static void Read(FileFinding finding, long at, Span<byte> into)
    {
        if (!into.IsEmpty && !ImageTrouble.TryRead(finding, at, into) && finding.AllBytesHeld)
            throw new HandoverException($"'{VisibleText.Of(finding.Entry.Path.ToString())}' on volume {finding.Volume} was graded {finding.Grade!.Value.Word()}, "
                + $"but bytes {at} to {at + into.Length - 1} are not held any more: the image changed or is damaged. Verify the image, then hand over anew.");
    }

    private static void SetTimes(SafeFileHandle file, EntryTimes times)
    {
        if (times.Accessed is { } accessed)
            File.SetLastAccessTimeUtc(file, accessed.UtcDateTime);
        if (times.Modified is { } modified)
            File.SetLastWriteTimeUtc(file, modified.UtcDateTime);
    }
}
