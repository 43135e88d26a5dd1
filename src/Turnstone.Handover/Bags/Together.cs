using System.Runtime.ExceptionServices;

namespace Turnstone.Handover;

/// <summary>Runs a few things side by side.</summary>
internal static class Together
{
    /// <summary>Returns when all are done; of what they throw, the first comes out as it is.</summary>
    public static void Run(params Action[] work)
    {
        try
        {
            Parallel.Invoke(work);
        }
        catch (AggregateException all)
        {
            ExceptionDispatchInfo.Throw(all.Flatten().InnerExceptions[0]);
        }
    }
}
