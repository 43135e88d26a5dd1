using System.Globalization;
using Turnstone.Volumes;

namespace Turnstone.Findings;

/// <summary>The words for facts of an entry as they stand in lists, tables and JSON.</summary>
public static class EntryWords
{
    /// <summary>The kind in lower case.</summary>
    public static string Word(this EntryKind kind) => kind switch
    {
        EntryKind.File => "file",
        EntryKind.Folder => "folder",
        EntryKind.Stream => "stream",
        EntryKind.Link => "link",
        EntryKind.Other => "other",
    };

    /// <summary>The certainty in lower case.</summary>
    public static string Word(this Certainty certainty) => certainty switch
    {
        Certainty.Sure => "sure",
        Certainty.Likely => "likely",
        Certainty.Guessed => "guessed",
    };

    /// <summary>The origin in lower case.</summary>
    public static string Word(this Origin origin) => origin switch
    {
        Origin.Table => "table",
        Origin.Copy => "copy",
        Origin.Journal => "journal",
        Origin.Scan => "scan",
    };

    /// <summary>A time as in ISO 8601 with its offset, to the fraction of a second that it has.</summary>
    public static string Iso8601(DateTimeOffset time) =>
        time.ToString("yyyy-MM-dd'T'HH:mm:ss.FFFFFFFzzz", CultureInfo.InvariantCulture);
}
