using Turnstone.Patients.Chances;
using Turnstone.Patients.Damages;

namespace Turnstone.Patients.Wear;

/// <summary>The state of the whole drive: its heads, its warmth, and whether it still runs.</summary>
internal sealed class Condition
{
    private readonly WearSpec _spec;
    private readonly HeadCondition[] _heads;
    private readonly bool[] _debris;
    private readonly double _driveFate;
    private double _driveHazard;

    public Condition(WearSpec spec, IReadOnlyList<Damage> damages, int heads, ulong seed)
    {
        _spec = spec;
        var chance = Chance.For(seed, "wear");
        _driveFate = chance.Exponential();
        double[] fates = [.. Enumerable.Range(0, heads).Select(_ => chance.Exponential())];
        _debris = [.. Enumerable.Range(0, heads).Select(_ => chance.Happens(spec.DebrisChance))];
        _heads = [.. Enumerable.Range(0, heads).Select(h => Head(h, damages, fates[h]))];
    }

    public IReadOnlyList<HeadCondition> Heads => _heads;

    /// <summary>Whether the drive has stopped for good.</summary>
    public bool DriveDead => _driveHazard >= _driveFate;

    /// <summary>Most seconds that the drive can be powered.</summary>
    public double MostSeconds => _spec.DriveDeathsPerHour > 0 ? _driveFate / _spec.DriveDeathsPerHour * 3600 : double.PositiveInfinity;

    /// <summary>Wear of all heads together by their own work.</summary>
    public double Worked
    {
        get
        {
            double sum = 0;
            foreach (HeadCondition head in _heads)
                sum += head.Worked;
            return sum;
        }
    }

    public void Powered(double seconds) => _driveHazard += seconds * _spec.DriveDeathsPerHour / 3600;

    public void Reset() => _driveHazard += _spec.DriveDeathPerReset;

    public void SpinUp() => _driveHazard += _spec.DriveDeathPerSpinUp;

    /// <summary>Adds work to a head and answers whether it has died of it.</summary>
    public bool Work(int head, double seconds, int retries, bool stressed)
    {
        bool died = _heads[head].Work(seconds, retries, stressed);
        if (died && _debris[head])
        {
            foreach (HeadCondition other in _heads.Where((_, i) => i != head))
                other.AddDebris();
        }

        return died;
    }

    /// <summary>Mean margin of a head's sectors now; infinity for a healthy head.</summary>
    public double MarginOf(int head, double poweredSeconds)
    {
        HeadCondition condition = _heads[head];
        if (double.IsPositiveInfinity(condition.Margin))
            return condition.Margin;
        double warmth = _spec.WarmingDegrees * (1 - Math.Exp(-poweredSeconds / (60 * _spec.WarmingMinutes)));
        return condition.Margin - (_spec.MarginPerWear * condition.Worn) - (_spec.MarginPerTenDegrees * warmth / 10);
    }

    private HeadCondition Head(int head, IReadOnlyList<Damage> damages, double fate)
    {
        Damage.WeakHead? weak = damages.OfType<Damage.WeakHead>().FirstOrDefault(w => w.Head == head);
        var condition = new HeadCondition(weak?.Hazard ?? _spec.Heads, weak?.DiesAfterSeconds, _spec.RetryFactor, fate);
        foreach (double margin in damages.OfType<Damage.SlowMedia>().Select(s => s.Margin).Append(weak?.Margin ?? double.PositiveInfinity))
            condition.Margin = Math.Min(condition.Margin, margin);
        if (damages.OfType<Damage.DeadHead>().Any(d => d.Head == head))
            condition.Kill();
        return condition;
    }
}
