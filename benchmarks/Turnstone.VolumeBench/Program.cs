using Turnstone.VolumeBench;

// list IMAGE [LISTING]    one full listing with extents, written to a file if one is named: entries, seconds, peak memory
// holes SCRIPT [ARGS]     what comes out of a fixture volume through random holes, as rows of a Markdown table
switch (args)
{
    case ["list", var image]:
        Listing.Run(image, TextWriter.Null);
        break;
    case ["list", var image, var listing]:
        using (var output = new StreamWriter(listing))
            Listing.Run(image, output);
        break;
    case ["holes", var script, .. var arguments]:
        HoleTable.Run(script, arguments);
        break;
    default:
        Console.Error.WriteLine("usage: list IMAGE [LISTING] | holes SCRIPT [ARGUMENTS]   (SCRIPT: a file in tests/volumes)");
        return 1;
}

return 0;
