namespace Turnstone.Media.Target;

/// <summary>The place that the bytes go to can't be trusted any more: full, gone, or answering with errors. The read stops.</summary>
public sealed class TargetFailure : IOException
{
    /// <summary>Says what happened and what to do.</summary>
    public TargetFailure(string message, Exception? inner = null)
        : base(message, inner)
    {
    }
}
