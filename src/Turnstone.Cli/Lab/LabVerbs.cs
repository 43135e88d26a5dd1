using System.CommandLine;

namespace Turnstone.Cli.Lab;

/// <summary>The verbs of the lab: decisions before and around a read.</summary>
public static class LabVerbs
{
    /// <summary>All of them.</summary>
    /// <param name="clock">Where the time of a signature comes from; the system's where none is given.</param>
    public static IEnumerable<Command> All(TimeProvider? clock = null)
    {
        TimeProvider time = clock ?? TimeProvider.System;
        return [TriageVerb.Make(), ProtocolVerb.Make(time), DonorVerbs.Make(time), TagVerb.Make(), AirVerbs.Make(time), DumpVerbs.Make(time), QuoteVerb.Make()];
    }
}
