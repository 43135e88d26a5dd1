namespace Turnstone.Volumes.Ext;

/// <summary>How far something that was read through several structures can be relied on: as far as the weakest of them.</summary>
internal readonly record struct Trust(Certainty Certainty, Origin Origin)
{
    /// <summary>Read in its own place, nothing missing.</summary>
    public static Trust Full => default;

    /// <summary>Something that could confirm it is missing.</summary>
    public static Trust Unconfirmed => new(Certainty.Likely, Origin.Table);

    /// <summary>Something contradicts it, or it was put together.</summary>
    public static Trust Weak => new(Certainty.Guessed, Origin.Table);

    /// <summary>Read in an older state, which may have changed since.</summary>
    public static Trust Older => new(Certainty.Guessed, Origin.Journal);

    public Trust And(Trust other) => new(
        Certainty > other.Certainty ? Certainty : other.Certainty, Origin > other.Origin ? Origin : other.Origin);
}

/// <summary>Bits by number, with memory only where one was set.</summary>
internal sealed class SparseBits
{
    private const int PageBits = 1 << 15;
    private readonly Dictionary<long, ulong[]> _pages = [];

    /// <summary>Sets a bit; answers false where it was set already.</summary>
    public bool Add(long number)
    {
        if (!_pages.TryGetValue(number / PageBits, out ulong[]? page))
            _pages.Add(number / PageBits, page = new ulong[PageBits / 64]);
        ref ulong word = ref page[number % PageBits / 64];
        ulong bit = 1UL << (int)(number % 64);
        bool first = (word & bit) == 0;
        word |= bit;
        return first;
    }

    public bool Contains(long number) =>
        _pages.TryGetValue(number / PageBits, out ulong[]? page) && (page[number % PageBits / 64] & (1UL << (int)(number % 64))) != 0;
}
