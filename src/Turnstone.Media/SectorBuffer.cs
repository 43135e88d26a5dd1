using System.Buffers;
using System.Runtime.InteropServices;

namespace Turnstone.Media;

/// <summary>Memory for reads: page-aligned, as direct reads from a device need it, and outside the collector's heap.</summary>
/// <remarks>A buffer that a silent source still holds must not be disposed; drop it and let the process's end take it.</remarks>
public sealed unsafe class SectorBuffer : MemoryManager<byte>
{
    private const int Alignment = 4096;
    private readonly int _length;
    private byte* _start;

    /// <summary>Takes that many bytes, zeroed.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Not a positive length.</exception>
    public SectorBuffer(int length)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(length);
        _length = length;
        _start = (byte*)NativeMemory.AlignedAlloc((nuint)length, Alignment);
        new Span<byte>(_start, length).Clear();
    }

    /// <summary>Whether memory may be handed to a direct read.</summary>
    public static bool IsAligned(ReadOnlySpan<byte> memory)
    {
        fixed (byte* start = memory)
            return (nuint)start % Alignment == 0;
    }

    /// <inheritdoc/>
    public override Span<byte> GetSpan() => _start is null ? throw new ObjectDisposedException(nameof(SectorBuffer)) : new(_start, _length);

    /// <inheritdoc/>
    public override MemoryHandle Pin(int elementIndex = 0) => new(_start + elementIndex, pinnable: this);

    /// <inheritdoc/>
    public override void Unpin()
    {
    }

    /// <inheritdoc/>
    protected override void Dispose(bool disposing)
    {
        NativeMemory.AlignedFree(_start);
        _start = null;
    }
}
