namespace Turnstone.HoleTable;

/// <summary>What was counted: live files, those with all bytes held, entries called whole, guesses among them, held files found, right ones that are no guesses.</summary>
internal readonly record struct Tally(int Live, int Held, int Whole, int Guessed, int Found, int Right)
{
    public static Tally operator +(Tally a, Tally b) =>
        new(a.Live + b.Live, a.Held + b.Held, a.Whole + b.Whole, a.Guessed + b.Guessed, a.Found + b.Found, a.Right + b.Right);
}
