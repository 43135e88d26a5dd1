using Turnstone.Lab.Documents;

namespace Turnstone.Cli.Lab;

/// <summary>Something that a person gave is wrong; the message says what, where, and what to do.</summary>
internal sealed class BadInput(string message) : Exception(message);

internal static class Stopping
{
    /// <summary>The value; a fault ends the verb with its message.</summary>
    public static T OrStop<T>(this Understood<T> read) => read.Match(item => item, fault => throw new BadInput(fault.ToString()));

    /// <summary>Ends the verb with the complaint, where there is one.</summary>
    public static void StopOn(string? wrong)
    {
        if (wrong is not null)
            throw new BadInput(wrong);
    }
}
