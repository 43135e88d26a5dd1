namespace Turnstone.Patients.Wear;

/// <summary>The state of one head: how worn it is, and whether it still reads.</summary>
/// <remarks>
/// The head's fate is one draw made at the start: it dies when its accumulated hazard reaches an exponential draw, or
/// its work a fixed end. That has the same law as a draw at each command, and it makes how much a head can
/// still do a fact that a clairvoyant may know.
/// </remarks>
internal sealed class HeadCondition
{
    /// <summary>Plain wear of one second of work.</summary>
    public const double WearPerSecond = 1.0 / 36_000;

    private readonly HazardSpec _hazard;
    private readonly double _retryFactor, _fate, _endOfWork, _perSecond;
    private double _hazardSoFar, _debris;

    public HeadCondition(HazardSpec hazard, double? diesAfterSeconds, double retryFactor, double fate)
    {
        _hazard = hazard;
        _retryFactor = retryFactor;
        _fate = fate;
        _perSecond = hazard.PerHour / 3600;
        _endOfWork = diesAfterSeconds is { } seconds ? seconds * WearPerSecond : double.PositiveInfinity;
    }

    public bool Dead { get; private set; }

    /// <summary>Wear so far, of work and of debris; one unit is ten hours of plain work.</summary>
    public double Worn => Worked + _debris;

    /// <summary>Wear of its own work.</summary>
    public double Worked { get; private set; }

    /// <summary>Mean margin of the sectors at no wear; infinity for a healthy head.</summary>
    public double Margin { get; set; } = double.PositiveInfinity;

    /// <summary>Most seconds that the head can work, on good ground and without a retry.</summary>
    public double MostSeconds
    {
        get
        {
            if (Dead)
                return 0;
            double byWork = _endOfWork / WearPerSecond, growth = _hazard.Growth * WearPerSecond;
            if (_perSecond <= 0)
                return byWork;
            // Integral of rate · exp(growth · t) reaches the fate at t.
            double byHazard = growth <= 0 ? _fate / _perSecond : Math.Log(1 + (_fate * growth / _perSecond)) / growth;
            return Math.Min(byWork, byHazard);
        }
    }

    public void Kill() => Dead = true;

    public void AddDebris() => _debris += 0.5;

    /// <summary>Adds work and answers whether the head has died of it.</summary>
    public bool Work(double seconds, int retries, bool stressed)
    {
        Worked += seconds * WearPerSecond * (1 + (_retryFactor * retries) + (stressed ? _hazard.StressFactor : 0));
        if (_perSecond > 0)
            _hazardSoFar += _perSecond * Math.Exp(_hazard.Growth * Worn) * seconds;
        if (Dead || (_hazardSoFar < _fate && Worked < _endOfWork))
            return false;
        Dead = true;
        return true;
    }
}
