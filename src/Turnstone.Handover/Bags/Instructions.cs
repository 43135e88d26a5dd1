namespace Turnstone.Handover;

/// <summary>The text for the client: what lies where, and how to check it with tools that every system has.</summary>
internal static class Instructions
{
    /// <summary>Its name in the bag.</summary>
    public const string Name = "how-to-check.txt";

    /// <summary>Its lines.</summary>
    public const string Text = """
        WHAT THIS IS

        These are the files that were saved from your drive. They lie in the folder 'data':

          data/whole             every byte of these files was read
          data/holed             parts of these files could not be read; beside each file a
                                 note NAME.missing.txt says which parts. They hold zeros there.
          data/doubtful          every byte was read, but something speaks against the content
          data/deleted           files that had been deleted before, every byte found
          data/deleted-holed     the same, with parts missing
          data/deleted-doubtful  the same, with something that speaks against the content

        Folders that would be empty are left out. Some names had to be changed because other
        systems cannot store them. The table 'files.tsv' lists every file that was found on the
        drive: its original name, where it lies now, how much of it was read. It also lists the
        files of which only the name could be found. It is plain text, one file a line, columns
        separated by tabs. A backslash in it starts a character that cannot be shown.

        HOW TO CHECK THAT NOTHING HAS CHANGED

        Every file has a digest: a number that changes when a single byte changes. The lists are
        in 'manifest-sha256.txt' and 'manifest-sha512.txt'. Open a terminal in this folder (the
        one that this text lies in).

        Linux:

          sha256sum --quiet -c manifest-sha256.txt
          sha256sum --quiet -c tagmanifest-sha256.txt

        macOS:

          shasum -a 256 -c manifest-sha256.txt
          shasum -a 256 -c tagmanifest-sha256.txt

        The first line checks your files, the second the lists themselves. When the tool says
        nothing, or 'OK' behind every name, nothing has changed. 'FAILED' names a file that is
        damaged or missing.

        Windows (PowerShell):

          Get-Content -Encoding UTF8 manifest-sha256.txt | ForEach-Object {
            $digest, $file = $_ -split '  ', 2
            if ((Get-FileHash -Algorithm SHA256 -LiteralPath $file).Hash -ne $digest) { "CHANGED: $file" }
          }

        When it prints nothing, nothing has changed.

        This folder is a 'bag' as described in RFC 8493 (BagIt 1.0). Any program that checks such
        bags can check it too.
        """;
}
