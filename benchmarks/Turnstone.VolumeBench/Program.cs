using Turnstone.VolumeBench;

// list IMAGE              one full listing with extents: entries, seconds, peak memory
// holes SCRIPT [ARGS]     what comes out of a fixture volume through random holes, as rows of a Markdown table
switch (args)
{
    case ["list", var image]:
        Listing.Run(image);
        break;
    case ["holes", var script, .. var arguments]:
        HoleTable.Run(script, arguments);
        break;
    default:
        Console.Error.WriteLine("usage: list IMAGE | holes SCRIPT [ARGUMENTS]   (SCRIPT: a file in tests/volumes)");
        return 1;
}

return 0;
