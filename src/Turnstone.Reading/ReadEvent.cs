using Turnstone.Media;
using Turnstone.Reading.Map;
using Turnstone.Reading.Stages;

namespace Turnstone.Reading;

/// <summary>Why a sitting of a read ended.</summary>
public enum ReadEnd
{
    /// <summary>Every stage ran to its end.</summary>
    Finished,

    /// <summary>Somebody asked it to stop.</summary>
    Stopped,

    /// <summary>The time that was given is spent.</summary>
    BudgetSpent,

    /// <summary>The source is not there any more.</summary>
    SourceGone,

    /// <summary>The source did not answer several times in a row.</summary>
    SourceSilent,

    /// <summary>The source is shorter than it was when it was opened.</summary>
    SourceShrank,
}

/// <summary>How much is in which state.</summary>
/// <param name="Unasked">Bytes not asked for.</param>
/// <param name="Held">Bytes in the image.</param>
/// <param name="PassedOver">Bytes left for later.</param>
/// <param name="Refused">Bytes refused on their own.</param>
/// <param name="Withheld">Bytes not to be asked for.</param>
public sealed record MapTotals(long Unasked, long Held, long PassedOver, long Refused, long Withheld)
{
    /// <summary>All bytes of the patient.</summary>
    public long Whole => Unasked + Held + PassedOver + Refused + Withheld;

    /// <summary>Adds a map up.</summary>
    public static MapTotals Of(ReadMap map, SectorSize sector)
    {
        long Bytes(SectorState state) => map.Total(state).Bytes(sector);
        return new MapTotals(Bytes(SectorState.Unasked), Bytes(SectorState.Held), Bytes(SectorState.PassedOver), Bytes(SectorState.Refused), Bytes(SectorState.Withheld));
    }
}

/// <summary>Something worth telling while a read goes on.</summary>
public abstract record ReadEvent
{
    private ReadEvent()
    {
    }

    /// <summary>The sitting began, on a new map or an old one.</summary>
    /// <param name="Source">Who is read.</param>
    /// <param name="Geometry">Its sizes.</param>
    /// <param name="Totals">Where the map stands.</param>
    public sealed record Began(SourceIdentity Source, Geometry Geometry, MapTotals Totals) : ReadEvent;

    /// <summary>A stage began.</summary>
    public sealed record StageBegan(StageName Stage) : ReadEvent;

    /// <summary>Where the read stands; comes several times a second.</summary>
    /// <param name="Stage">What it does.</param>
    /// <param name="At">What it asks for now.</param>
    /// <param name="Totals">Where the map stands.</param>
    /// <param name="BytesPerSecond">Rate over the last seconds of the source's clock.</param>
    /// <param name="Refusals">Refused questions in this sitting.</param>
    /// <param name="Elapsed">Time of this sitting on the source's clock.</param>
    /// <param name="Left">What is left at the present pace, or null while nobody can tell.</param>
    public sealed record Progress(StageName Stage, SectorRange At, MapTotals Totals, double BytesPerSecond, long Refusals, TimeSpan Elapsed, TimeSpan? Left) : ReadEvent;

    /// <summary>A question was refused, or not answered (<see cref="RefusalCause.Silence"/>).</summary>
    public sealed record Refusal(StageName Stage, SectorRange Range, RefusalCause Cause, TimeSpan Took) : ReadEvent;

    /// <summary>The sitting ended; everything held is durable.</summary>
    /// <param name="Why">Why.</param>
    /// <param name="Totals">Where the map stands.</param>
    /// <param name="Elapsed">Time of this sitting on the source's clock.</param>
    /// <param name="BytesAsked">Bytes that came from the source in this sitting.</param>
    /// <param name="Refusals">Refused questions in this sitting.</param>
    public sealed record Ended(ReadEnd Why, MapTotals Totals, TimeSpan Elapsed, long BytesAsked, long Refusals) : ReadEvent;
}
