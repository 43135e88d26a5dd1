using Turnstone.Media;

namespace Turnstone.Volumes.Clusters;

/// <summary>Small reads at places that jump about, out of a few windows kept in memory. For one pass only: it does not see what becomes held later.</summary>
internal sealed class WindowCache(ISectorView view)
{
    private const int WindowBytes = 4096, Granule = 512, Slots = 64;
    private readonly Window?[] _windows = new Window?[Slots];

    /// <summary>Copies up to 4 bytes; answers false when any of them is not held.</summary>
    public bool TryRead(long offset, Span<byte> into)
    {
        for (int i = 0; i < into.Length; i++)
        {
            Window window = At((offset + i) / WindowBytes);
            int within = (int)((offset + i) % WindowBytes);
            if ((window.Held >> (within / Granule) & 1) == 0)
                return false;
            into[i] = window.Bytes[within];
        }

        return true;
    }

    private Window At(long number)
    {
        ref Window? slot = ref _windows[number % Slots];
        if (slot?.Number != number)
            slot = Load(number);
        return slot;
    }

    private Window Load(long number)
    {
        var window = new Window(number, new byte[WindowBytes]);
        if (view.TryRead(number * WindowBytes, window.Bytes))
            return window with { Held = byte.MaxValue };
        byte held = 0;
        for (int i = 0; i < WindowBytes / Granule; i++)
            held |= (byte)(view.TryRead((number * WindowBytes) + (i * Granule), window.Bytes.AsSpan(i * Granule, Granule)) ? 1 << i : 0);
        return window with { Held = held };
    }

    private sealed record Window(long Number, byte[] Bytes)
    {
        public byte Held { get; init; }
    }
}
