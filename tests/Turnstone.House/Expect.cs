namespace Turnstone.House;

/// <summary>Fails with the whole list of what should not be there.</summary>
internal static class Expect
{
    public static void None(IEnumerable<string> found)
    {
        string[] all = [.. found];
        Assert.True(all.Length == 0, string.Join('\n', all));
    }
}
