using Turnstone.Media;

namespace Turnstone.Patients.Damages;

/// <summary>What ends a hang.</summary>
public enum HangCure
{
    /// <summary>The reset that follows a request which the host gave up.</summary>
    Reset,

    /// <summary>Only cutting the power and spinning up again.</summary>
    Power,
}

/// <summary>One thing that is wrong with a drive. The cases nested below are all there are.</summary>
/// <remarks>
/// Damage is drawn in physical sectors: one takes all its logical sectors along. Tracks count from the outer edge of their
/// own surface. A damaged sector is soft with its damage's soft share: then each command that asks for it succeeds with
/// probability 0.2 (an assumption); else it is hard and never answers.
/// </remarks>
public abstract record Damage
{
    private protected Damage()
    {
    }

    /// <summary>Single sectors gone bad in clusters, as healthy populations show them.</summary>
    /// <param name="Clusters">How many clusters; null to draw it as from a drive of a healthy population, of which nine in ten have none.</param>
    public sealed record Latent(int? Clusters) : Damage
    {
        /// <summary>Share of soft sectors.</summary>
        public double SoftShare { get; init; } = 0.3;
    }

    /// <summary>A chosen run of sectors.</summary>
    /// <param name="Start">First logical sector; widened to whole physical ones.</param>
    /// <param name="Sectors">How many logical sectors.</param>
    public sealed record Run(long Start, long Sectors) : Damage
    {
        /// <summary>Share of soft sectors.</summary>
        public double SoftShare { get; init; }

        /// <summary>What the drive answers.</summary>
        public RefusalCause Cause { get; init; } = RefusalCause.Medium;
    }

    /// <summary>A closed ring: contact over whole turns. Several heads in the same place mean an impact.</summary>
    /// <param name="Heads">Surfaces.</param>
    /// <param name="FromTrack">First track.</param>
    /// <param name="Tracks">Tracks wide; 1 to 5000 are seen (an assumption).</param>
    public sealed record Ring(IReadOnlyList<int> Heads, int FromTrack, int Tracks) : Damage
    {
        /// <summary>Share of soft sectors.</summary>
        public double SoftShare { get; init; } = 0.02;

        /// <summary>What the drive answers; <see cref="RefusalCause.IdNotFound"/> where the servo marks are gone.</summary>
        public RefusalCause Cause { get; init; } = RefusalCause.Medium;
    }

    /// <summary>A mark over a part of the turn: an arc, a radial or diagonal line, or a spiral where it slants.</summary>
    /// <param name="Head">Surface.</param>
    /// <param name="FromTrack">First track.</param>
    /// <param name="Tracks">Tracks wide.</param>
    /// <param name="FromAngle">Where it starts on the first track, revolutions in [0, 1).</param>
    /// <param name="Turn">How much of the turn it covers, revolutions in (0, 1]; 0.01 to 1 for arcs (an assumption).</param>
    /// <param name="SlantPerTrack">How far it moves on from track to track, revolutions.</param>
    public sealed record Arc(int Head, int FromTrack, int Tracks, double FromAngle, double Turn, double SlantPerTrack) : Damage
    {
        /// <summary>Share of soft sectors.</summary>
        public double SoftShare { get; init; } = 0.05;
    }

    /// <summary>Particles between head and disk: errors at fixed, scattered places of one surface (Nikkei ITpro column, 2012).</summary>
    /// <param name="Head">Surface.</param>
    /// <param name="Count">How many marks.</param>
    /// <param name="TracksMax">Widest mark; widths are log-uniform from 1.</param>
    public sealed record Particles(int Head, int Count, int TracksMax) : Damage
    {
        /// <summary>Share of soft sectors.</summary>
        public double SoftShare { get; init; } = 0.1;
    }

    /// <summary>A head that reads nothing: no sector of its surface answers.</summary>
    /// <param name="Head">Which.</param>
    public sealed record DeadHead(int Head) : Damage;

    /// <summary>A head with little margin: slow first, then with errors, and it may die.</summary>
    /// <param name="Head">Which.</param>
    /// <param name="Margin">Mean margin of its sectors in deviations; the share of sectors in trouble is the normal tail
    /// below it. 3 is sick, 5 healthy (an assumption).</param>
    public sealed record WeakHead(int Head, double Margin) : Damage
    {
        /// <summary>Its way to die.</summary>
        public Wear.HazardSpec Hazard { get; init; } = Wear.HazardSpec.None;

        /// <summary>Work in seconds after which it dies for sure, sooner when stressed; null to leave it to the hazard.</summary>
        public double? DiesAfterSeconds { get; init; }
    }

    /// <summary>All surfaces with little margin: the whole drive is slow, with some errors.</summary>
    /// <param name="Margin">As for <see cref="WeakHead"/>.</param>
    public sealed record SlowMedia(double Margin) : Damage;

    /// <summary>Scattered sectors at which the drive hangs.</summary>
    /// <param name="Count">How many.</param>
    /// <param name="Cure">What ends the hang.</param>
    public sealed record Hangs(int Count, HangCure Cure) : Damage;

    /// <summary>Scattered sectors that answer only when asked in the right way.</summary>
    /// <param name="Count">How many.</param>
    /// <param name="AnswersOnAsk">The ask, counted from 1, from which on they answer.</param>
    /// <param name="OnlyBackwards">Whether they answer only to a read that starts below the one before it.</param>
    public sealed record Stubborn(int Count, int AnswersOnAsk, bool OnlyBackwards) : Damage;

    /// <summary>A head some of whose sectors return wrong bytes as if they were right.</summary>
    /// <param name="Head">Which.</param>
    /// <param name="Share">Share of its sectors.</param>
    /// <param name="Changing">Whether each read gives other wrong bytes; else always the same.</param>
    public sealed record WrongBytes(int Head, double Share, bool Changing) : Damage;
}
