using Turnstone.Patients.Chances;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Timing;

namespace Turnstone.Patients.Drives;

/// <summary>What came of a drive's own tries at one troubled sector.</summary>
/// <param name="Answered">Whether the sector was read.</param>
/// <param name="Nanoseconds">Time beyond that of a good read.</param>
/// <param name="Retries">Tries beyond the first.</param>
internal readonly record struct Recovered(bool Answered, double Nanoseconds, int Retries);

/// <summary>The tries that a drive makes by itself within one command: one turn each, up to a number or a limit.</summary>
internal sealed class Recovery(IReadOnlyList<Damage> damages, TimingSpec timing, Chance chance)
{
    /// <summary>Chance that one command gets a soft sector (an assumption).</summary>
    private const double SoftChance = 0.2;

    private readonly double _turn = timing.TurnSeconds * 1e9;
    private readonly Dictionary<long, int> _asks = [];

    /// <summary>Tries a sector.</summary>
    /// <param name="trouble">What is the matter with it.</param>
    /// <param name="sector">Which physical sector.</param>
    /// <param name="backwards">Whether this read starts below the one before it.</param>
    public Recovered Try(in Trouble trouble, long sector, bool backwards) => trouble.Kind switch
    {
        TroubleKind.Hard => Failure(),
        TroubleKind.Soft => chance.Happens(SoftChance) ? After(1 + (int)chance.Below(timing.Attempts)) : Failure(),
        TroubleKind.Faint => After(chance.Geometric(trouble.PerTry)),
        TroubleKind.Stubborn => IsAskedRightly((Damage.Stubborn)damages[trouble.Damage], sector, backwards) ? new Recovered(true, 0, 0) : Failure(),
        TroubleKind.HangsUntilReset or TroubleKind.HangsUntilPower => throw new ArgumentException("a hang is not tried at", nameof(trouble)),
    };

    private bool IsAskedRightly(Damage.Stubborn stubborn, long sector, bool backwards)
    {
        int asks = _asks[sector] = _asks.GetValueOrDefault(sector) + 1;
        return asks >= stubborn.AnswersOnAsk && (backwards || !stubborn.OnlyBackwards);
    }

    private Recovered After(int tries)
    {
        double time = (tries - 1.0) * _turn;
        return tries <= timing.Attempts && time <= Limit ? new Recovered(true, time, tries - 1) : Failure();
    }

    private Recovered Failure()
    {
        double time = (timing.Attempts * _turn) + chance.Between(0, timing.LateRecoverySeconds * 1e9);
        return new Recovered(false, Math.Min(time, Limit), timing.Attempts);
    }

    private double Limit => timing.RecoveryLimitSeconds * 1e9 ?? double.PositiveInfinity;
}
