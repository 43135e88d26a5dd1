namespace Turnstone.Patients.Chances;

/// <summary>One stream of chance: each part of a simulation draws from its own, so that one more draw here changes nothing there.</summary>
/// <remarks>xoshiro256** 1.0, seeded through SplitMix64: Blackman and Vigna, Scrambled Linear Pseudorandom Number Generators, ACM TOMS 47(4), 2021 (from memory).</remarks>
internal sealed class Chance
{
    private ulong _a, _b, _c, _d;
    private double _spare = double.NaN;

    private Chance(ulong seed)
    {
        _a = Mix(seed += Golden);
        _b = Mix(seed += Golden);
        _c = Mix(seed += Golden);
        _d = Mix(seed + Golden);
    }

    /// <summary>Odd step of SplitMix64: 2^64 over the golden ratio.</summary>
    public const ulong Golden = 0x9E3779B97F4A7C15;

    /// <summary>The stream of one named part under a scenario's seed.</summary>
    public static Chance For(ulong seed, string part) => new(Key(seed, part));

    /// <summary>A key for values that are computed where they are needed instead of drawn in turn.</summary>
    public static ulong Key(ulong seed, string part)
    {
        // FNV-1a over the name: string.GetHashCode changes from process to process.
        ulong hash = 14695981039346656037;
        foreach (char c in part)
            hash = (hash ^ c) * 1099511628211;
        return Mix(seed ^ Mix(hash));
    }

    /// <summary>Finalizer of SplitMix64: every bit of the value moves about half of the answer's.</summary>
    public static ulong Mix(ulong value)
    {
        value = (value ^ (value >> 30)) * 0xBF58476D1CE4E5B9;
        value = (value ^ (value >> 27)) * 0x94D049BB133111EB;
        return value ^ (value >> 31);
    }

    /// <summary>A value in [0, 1) that belongs to one number under a key.</summary>
    public static double Unit(ulong key, long number) => ToUnit(Mix(key ^ Mix((ulong)number + Golden)));

    /// <summary>The next 64 bits.</summary>
    public ulong Next()
    {
        ulong result = ulong.RotateLeft(_b * 5, 7) * 9, t = _b << 17;
        _c ^= _a;
        _d ^= _b;
        _b ^= _c;
        _a ^= _d;
        _c ^= t;
        _d = ulong.RotateLeft(_d, 45);
        return result;
    }

    /// <summary>Uniform in [0, 1).</summary>
    public double Unit() => ToUnit(Next());

    /// <summary>Uniform in [from, to).</summary>
    public double Between(double from, double to) => from + ((to - from) * Unit());

    /// <summary>Uniform in 0 .. count - 1.</summary>
    public long Below(long count) => (long)Math.BigMul(Next(), (ulong)count, out _);

    /// <summary>True with the given probability.</summary>
    public bool Happens(double probability) => Unit() < probability;

    /// <summary>Exponential with mean 1.</summary>
    public double Exponential() => -Math.Log(1 - Unit());

    /// <summary>Normal with mean 0 and deviation 1, by the polar method.</summary>
    public double Normal()
    {
        if (!double.IsNaN(_spare))
        {
            double kept = _spare;
            _spare = double.NaN;
            return kept;
        }

        double x, y, square;
        do
        {
            x = Between(-1, 1);
            y = Between(-1, 1);
            square = (x * x) + (y * y);
        }
        while (square is >= 1 or 0);
        double scale = Math.Sqrt(-2 * Math.Log(square) / square);
        _spare = y * scale;
        return x * scale;
    }

    /// <summary>How many tries until the first success, at least 1; int.MaxValue when there is none.</summary>
    public int Geometric(double success)
    {
        if (success <= 0)
            return int.MaxValue;
        double tries = success >= 1 ? 1 : Math.Ceiling(Math.Log(1 - Unit()) / Math.Log(1 - success));
        return tries < 1 ? 1 : (int)Math.Min(tries, int.MaxValue);
    }

    /// <summary>Log-uniform in [from, to].</summary>
    public double LogBetween(double from, double to) => from * Math.Exp(Unit() * Math.Log(to / from));

    private static double ToUnit(ulong bits) => (bits >> 11) * (1.0 / (1UL << 53));
}
