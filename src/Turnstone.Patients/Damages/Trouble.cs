using Turnstone.Media;

namespace Turnstone.Patients.Damages;

/// <summary>What kind of trouble a sector makes.</summary>
internal enum TroubleKind
{
    /// <summary>It never answers.</summary>
    Hard,

    /// <summary>It answers to some commands.</summary>
    Soft,

    /// <summary>It answers after some tries within a command, or not.</summary>
    Faint,

    /// <summary>It answers when asked in the right way.</summary>
    Stubborn,

    /// <summary>The drive hangs at it until it is reset.</summary>
    HangsUntilReset,

    /// <summary>The drive hangs at it until its power is cut.</summary>
    HangsUntilPower,
}

/// <summary>One sector of a track that may not answer.</summary>
/// <param name="Sector">Which sector of the track.</param>
/// <param name="Kind">What trouble.</param>
/// <param name="Cause">What the drive says when it refuses.</param>
/// <param name="PerTry">For <see cref="TroubleKind.Faint"/>: probability of success of one try.</param>
/// <param name="Damage">For <see cref="TroubleKind.Stubborn"/>: number of the damage that says how to ask.</param>
internal readonly record struct Trouble(int Sector, TroubleKind Kind, RefusalCause Cause, double PerTry = 0, int Damage = -1);
