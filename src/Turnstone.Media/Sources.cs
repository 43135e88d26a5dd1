using Turnstone.Media.Files;
using Turnstone.Media.Linux;
using Turnstone.Media.Network;

namespace Turnstone.Media;

/// <summary>Opens a source by what its address looks like.</summary>
public static class Sources
{
    /// <summary>Opens a regular file, a block device or a network block device for reading.</summary>
    /// <param name="address">A path, 'nbd://host:port/name' or 'nbd+unix:///name?socket=PATH'.</param>
    /// <param name="fileSector">Sector size to assume for a regular file.</param>
    /// <exception cref="FormatException">A network address that cannot be understood.</exception>
    /// <exception cref="FileNotFoundException">There is nothing at the path.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be read by this user.</exception>
    /// <exception cref="IOException">It is neither file nor device, or cannot be opened.</exception>
    public static IBlockSource Open(string address, SectorSize fileSector)
    {
        if (NetworkAddress.Is(address))
            return NetworkSource.Open(NetworkAddress.Parse(address));

        FileFacts facts = FileFacts.Of(address) ?? throw new FileNotFoundException($"there is nothing at '{address}'");
        return facts.Kind switch
        {
            FileKind.Regular => new FileSource(address, fileSector),
            FileKind.BlockDevice => new LimitedSource(BlockDeviceSource.Open(address)),
            FileKind.Folder => throw new IOException($"'{address}' is a folder: name the drive (as /dev/sdX) or an image file"),
            FileKind.Other => throw new IOException($"'{address}' is neither a file nor a block device"),
        };
    }
}
