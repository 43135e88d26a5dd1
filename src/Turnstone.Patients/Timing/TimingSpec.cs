namespace Turnstone.Patients.Timing;

/// <summary>How long a drive takes. All times are from the drive's own mechanics, on virtual time.</summary>
public sealed record TimingSpec
{
    /// <summary>Turns of the spindle a minute.</summary>
    public required double Rpm { get; init; }

    /// <summary>Seek to the next track, milliseconds; typically 1.0 for 2.5-inch drives (Hitachi Travelstar 5K320 specification, table 7).</summary>
    public required double SeekTrackMilliseconds { get; init; }

    /// <summary>Mean over random pairs of tracks, milliseconds; typically 12 (5K320, table 5).</summary>
    public required double SeekAverageMilliseconds { get; init; }

    /// <summary>From one edge to the other, milliseconds; typically 20 (5K320, table 6).</summary>
    public required double SeekFullMilliseconds { get; init; }

    /// <summary>To another head in the same place, milliseconds; 1.2 to 1.6 for 3.5-inch drives (IBM DTLA and DDRS specifications), 1.5 to 3 for 2.5-inch ones (from memory).</summary>
    public required double HeadSwitchMilliseconds { get; init; }

    /// <summary>Overhead of one command, milliseconds; 0.05 to 0.2 directly, 0.2 to 0.5 behind a bridge (from memory).</summary>
    public double CommandMilliseconds { get; init; } = 0.1;

    /// <summary>Deviation of that overhead, milliseconds (an assumption).</summary>
    public double CommandNoiseMilliseconds { get; init; } = 0.05;

    /// <summary>Chance that a command which had to move the arm misses its sector by one turn (an assumption).</summary>
    public double MissedTurnChance { get; init; } = 0.01;

    /// <summary>Rate of the interface, 10^6 bytes a second.</summary>
    public double InterfaceMegabytesPerSecond { get; init; } = 400;

    /// <summary>How far the drive reads ahead by itself, KiB; 8 to 256 MiB are usual.</summary>
    public double ReadAheadKibibytes { get; init; } = 8192;

    /// <summary>Tries at one sector within one command; 20 to 200 (from memory).</summary>
    public int Attempts { get; init; } = 60;

    /// <summary>Longest further recovery after the tries, seconds (an assumption); drawn evenly from 0.</summary>
    public double LateRecoverySeconds { get; init; } = 2;

    /// <summary>Limit that the drive sets to its own recovery, seconds; null for none. 7.0 is the usual value on drives that have one.</summary>
    public double? RecoveryLimitSeconds { get; init; }

    /// <summary>Shortest and longest answer of a head that does not read at all, seconds (an assumption).</summary>
    public double DeadHeadSecondsMin { get; init; } = 1;

    /// <inheritdoc cref="DeadHeadSecondsMin"/>
    public double DeadHeadSecondsMax { get; init; } = 8;

    /// <summary>From power to ready, seconds; 3 to 5 for 2.5-inch drives, 8 to 20 for 3.5-inch ones (from memory; Linux libata: most by 10 s, nearly all by 20 s).</summary>
    public double SpinUpSeconds { get; init; } = 4;

    /// <summary>Reset and recalibration after a request that the host gave up, seconds (an assumption).</summary>
    public double ResetSeconds { get; init; } = 2;

    /// <summary>How long a caller without a limit of its own waits for a hung drive, seconds: 241 were measured through the
    /// Linux block layer with its 30 s command limit and its own repeats.</summary>
    public double HostLimitSeconds { get; init; } = 241;

    /// <summary>Time between thermal recalibrations, seconds; null for none. Every few minutes (from memory).</summary>
    public double? RecalibrationEverySeconds { get; init; }

    /// <summary>One turn, seconds.</summary>
    internal double TurnSeconds => 60 / Rpm;
}
