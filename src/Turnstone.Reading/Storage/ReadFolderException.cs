namespace Turnstone.Reading.Storage;

/// <summary>The folder of a read can't be used: the message says what is wrong, where, and what to do.</summary>
public sealed class ReadFolderException : IOException
{
    /// <summary>Says what is wrong.</summary>
    public ReadFolderException(string message, Exception? inner = null)
        : base(message, inner)
    {
    }
}
