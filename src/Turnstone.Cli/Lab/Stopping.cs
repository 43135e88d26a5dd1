using Turnstone.Lab.Documents;

namespace Turnstone.Cli.Lab;

/// <summary>Ends a verb at the first thing that is wrong.</summary>
internal static class Stopping
{
    /// <summary>The value; a fault ends the verb with its message.</summary>
    public static T OrStop<T>(this Understood<T> read) => read.Match(item => item, fault => throw new BadInputException(fault.ToString()));

    /// <summary>Ends the verb with the complaint, where there is one.</summary>
    public static void StopOn(string? wrong)
    {
        if (wrong is not null)
            throw new BadInputException(wrong);
    }
}
