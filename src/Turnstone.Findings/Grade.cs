namespace Turnstone.Findings;

/// <summary>How much of a file there is, and what vouches for it.</summary>
public enum Grade
{
    /// <summary>All bytes held and the content's own structure agrees.</summary>
    Proven,

    /// <summary>All bytes held; nothing offers a proof of the content.</summary>
    Whole,

    /// <summary>All bytes held, and something contradicts them: the content itself, or the volume's own account of who owns the bytes.</summary>
    Doubtful,

    /// <summary>Some bytes held, some missing.</summary>
    Holed,

    /// <summary>Only the name and size are known: no byte is held, or where the bytes lie is a guess.</summary>
    Named,

    /// <summary>Content found with no surviving folder entry.</summary>
    Traced,
}

/// <summary>The words of the grades as they stand in lists, tables and JSON.</summary>
public static class GradeWords
{
    /// <summary>The grade's name in lower case.</summary>
    public static string Word(this Grade grade) => grade switch
    {
        Grade.Proven => "proven",
        Grade.Whole => "whole",
        Grade.Doubtful => "doubtful",
        Grade.Holed => "holed",
        Grade.Named => "named",
        Grade.Traced => "traced",
    };
}
