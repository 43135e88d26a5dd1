using System.Text;

namespace Turnstone.Handover;

/// <summary>The list of files that a bag expects to be fetched from elsewhere (RFC 8493, section 2.2.3). Nothing is ever fetched.</summary>
internal static class FetchList
{
    /// <summary>Its name.</summary>
    public const string Name = "fetch.txt";

    /// <summary>Reports what is still to be fetched.</summary>
    public static void Check(string bag, Encoding encoding, BagFiles files, IReadOnlyList<Manifest> payload, ProblemList problems)
    {
        problems.Warning(Name, 0, "the bag names files that have to be fetched from elsewhere; nothing is fetched here");
        foreach ((int number, string text) in TagLines.Read(bag, Name, encoding, problems))
        {
            string[] parts = text.Split([' ', '\t'], 3, StringSplitOptions.RemoveEmptyEntries);
            string? fault = "must be an address, a length or '-', and a path";
            string? path = parts.Length == 3 ? ManifestPath.Read(parts[2], payload: true, final: true, out fault) : null;
            if (path is null)
                problems.NotComplete(Name, number, fault!);
            else if (files.Number(path) is not { } there)
                problems.NotComplete(Name, number, $"'{path}' has still to be fetched");
            else if (payload.Any(manifest => manifest.LineOf(there) == 0))
                problems.NotComplete(Name, number, $"'{path}' does not stand in every payload manifest");
        }
    }
}
