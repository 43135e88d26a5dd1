using System.Diagnostics;
using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace Turnstone.Media.Linux;

/// <summary>A Linux block device, read directly past the page cache, and set read-only in the kernel while it is open.</summary>
/// <remarks>
/// The kernel asks a drive several times by itself before a read here is refused. A request cannot be given up:
/// wrap the source in <see cref="LimitedSource"/>. If the process is killed, the kernel keeps the device read-only
/// ('blockdev --setrw' undoes it).
/// </remarks>
public sealed class BlockDeviceSource : IBlockSource
{
    private readonly SafeFileHandle _device;
    private readonly bool _wasWritable;

    private BlockDeviceSource(string path, SafeFileHandle device)
    {
        _device = device;
        (string? model, string? serial) = DeviceUse.Names(path);
        Geometry = ReadGeometry(device);
        _wasWritable = SetReadOnly(device);
        Identity = new SourceIdentity(path, "block device", model, serial)
        {
            Notes = IsReadOnlyInKernel ? [] : ["the kernel did not let the device be set read-only: Turnstone does not write to it, see that nobody else does"],
        };
    }

    /// <inheritdoc/>
    public SourceIdentity Identity { get; }

    /// <inheritdoc/>
    public Geometry Geometry { get; }

    /// <summary>Whether the kernel now refuses writes to the device from anyone.</summary>
    public bool IsReadOnlyInKernel { get; private set; }

    /// <summary>Opens a device. Nothing is read from its medium yet.</summary>
    /// <exception cref="UnauthorizedAccessException">The device may not be read by this user.</exception>
    /// <exception cref="IOException">There is no such device, it is not there, or it reports sizes that make no sense.</exception>
    public static BlockDeviceSource Open(string path)
    {
        int number = Libc.Open(path, Libc.ReadOnly | Libc.Direct | Libc.CloseOnExec);
        if (number < 0)
            throw OpenFailure(path, Marshal.GetLastPInvokeError());
        var device = new SafeFileHandle(number, ownsHandle: true);
        try
        {
            return new BlockDeviceSource(path, device);
        }
        catch
        {
            device.Dispose();
            throw;
        }
    }

    /// <inheritdoc/>
    public unsafe ReadOutcome Read(SectorRange range, Memory<byte> into, TimeSpan limit)
    {
        Memory<byte> buffer = Door.Check(this, range, into);
        if (!SectorBuffer.IsAligned(buffer.Span))
            throw new ArgumentException("a direct read needs page-aligned memory", nameof(into));

        long start = Stopwatch.GetTimestamp(), offset = range.Start.ByteOffset(Geometry.Logical);
        int got = 0;
        fixed (byte* memory = buffer.Span)
        {
            while (got < buffer.Length)
            {
                nint step = Libc.PRead(_device, memory + got, (nuint)(buffer.Length - got), offset + got);
                int error = step < 0 ? Marshal.GetLastPInvokeError() : 0;
                if (error == Libc.ErrorInterrupted)
                    continue;
                if (step <= 0)
                    return Door.Refuse(this, range, start, step == 0 ? RefusalCause.PastEnd : CauseOf(error), got);
                got += (int)step;
            }
        }

        return new ReadOutcome.Bytes(buffer) { Asked = range, Took = Stopwatch.GetElapsedTime(start) };
    }

    /// <summary>Closes the device and makes it writable in the kernel again if it was so before.</summary>
    public void Dispose()
    {
        if (_wasWritable && !_device.IsClosed)
        {
            int off = 0;
            _ = Libc.Ioctl(_device, Libc.BlkRoSet, ref off);
        }

        _device.Dispose();
    }

    // A medium error reaches a direct read as 61, other refusals of a drive as 5 (seen with kernel 6.1).
    internal static RefusalCause CauseOf(int error) => error switch
    {
        Libc.ErrorNoData => RefusalCause.Medium,
        Libc.ErrorNoDevice or Libc.ErrorGone or Libc.ErrorNoMedium or Libc.ErrorStale or Libc.ErrorNotConnected => RefusalCause.Gone,
        Libc.ErrorTimedOut => RefusalCause.Silence,
        Libc.ErrorIllegalSequence => RefusalCause.InterfaceCrc,
        Libc.ErrorRemoteIo => RefusalCause.DeviceFault,
        _ => RefusalCause.Unspecified,
    };

    private bool SetReadOnly(SafeFileHandle device)
    {
        int isReadOnly = 0, on = 1;
        if (Libc.Ioctl(device, Libc.BlkRoGet, ref isReadOnly) == 0 && isReadOnly != 0)
        {
            IsReadOnlyInKernel = true;
            return false;
        }

        IsReadOnlyInKernel = Libc.Ioctl(device, Libc.BlkRoSet, ref on) == 0;
        return IsReadOnlyInKernel;
    }

    private static Geometry ReadGeometry(SafeFileHandle device)
    {
        ulong bytes = 0;
        int logical = 0, physical = 0;
        if (Libc.Ioctl(device, Libc.BlkGetSize64, ref bytes) != 0 || Libc.Ioctl(device, Libc.BlkSszGet, ref logical) != 0)
            throw new IOException($"this is not a block device that tells its size ({Libc.Say(Marshal.GetLastPInvokeError())})");
        if (Libc.Ioctl(device, Libc.BlkPbszGet, ref physical) != 0 || physical < logical)
            physical = logical;
        if (bytes == 0 || bytes > long.MaxValue || !IsSectorSize(logical) || !IsSectorSize(physical))
            throw new IOException($"the device reports {bytes} bytes in sectors of {logical}/{physical}: is a medium in it, has it started?");
        return new Geometry(new SectorSize(logical), new SectorSize(physical), new SectorCount((long)bytes / logical));
    }

    private static bool IsSectorSize(int bytes) => bytes is >= 512 and <= 65_536 && int.IsPow2(bytes);

    private static Exception OpenFailure(string path, int error) => error is Libc.ErrorAccess or 1
        ? new UnauthorizedAccessException($"{path}: {Libc.Say(error)}")
        : new IOException($"{path}: {Libc.Say(error)}");
}
