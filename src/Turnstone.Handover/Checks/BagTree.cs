using System.Runtime.InteropServices;

namespace Turnstone.Handover;

/// <summary>The plain files that really lie in a bag's folder. Links and other things are reported and never opened or followed.</summary>
/// <remarks>A check opens only what was found here, never a path that a manifest names: so no manifest can lead it out of the bag.</remarks>
internal static partial class BagTree
{
    /// <summary>All plain files.</summary>
    public static BagFiles Files(string bag, ProblemList problems)
    {
        var files = new List<(string Path, long Size)>();
        var open = new Stack<string>([""]);
        while (open.TryPop(out string? folder))
        {
            foreach (FileSystemInfo item in Items(bag, folder, problems))
            {
                string path = folder.Length == 0 ? item.Name : $"{folder}/{item.Name}";
                switch (KindOf(item.FullName))
                {
                    case PlainFile:
                        files.Add((path, ((FileInfo)item).Length));
                        break;
                    case PlainFolder:
                        open.Push(path);
                        break;
                    case Link:
                        problems.NotComplete(path, 0, "a symbolic link; a bag holds plain files only, and a link may lead out of it");
                        break;
                    case null:
                        problems.NotComplete(path, 0, "cannot be looked at; its name may not be UTF-8");
                        break;
                    default:
                        problems.NotComplete(path, 0, "neither a file nor a folder (a pipe, socket or device)");
                        break;
                }
            }
        }

        return new BagFiles(files);
    }

    private static List<FileSystemInfo> Items(string bag, string folder, ProblemList problems)
    {
        try
        {
            return [.. new DirectoryInfo(Path.Combine(bag, folder)).EnumerateFileSystemInfos()];
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            problems.NotComplete(folder, 0, $"the folder cannot be read: {e.Message}");
            return [];
        }
    }

    // File type bits of st_mode, and statx(2) with AT_FDCWD, AT_SYMLINK_NOFOLLOW, STATX_TYPE; stx_mode lies at byte 28.
    private const int TypeBits = 0xF000, PlainFile = 0x8000, PlainFolder = 0x4000, Link = 0xA000;
    private const int CurrentFolder = -100, NoFollow = 0x100, TypeOnly = 1, ModeAt = 28, AnswerBytes = 256;

    private static int? KindOf(string path)
    {
        Span<byte> answer = stackalloc byte[AnswerBytes];
        return Statx(CurrentFolder, path, NoFollow, TypeOnly, ref MemoryMarshal.GetReference(answer)) == 0
            ? MemoryMarshal.Read<ushort>(answer[ModeAt..]) & TypeBits
            : null;
    }

    [LibraryImport("libc", EntryPoint = "statx", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Statx(int folder, string path, int flags, uint mask, ref byte answer);
}
