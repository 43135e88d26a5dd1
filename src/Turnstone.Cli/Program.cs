using System.CommandLine;
using Turnstone.Cli;
using Turnstone.Cli.Rehearse;
using Turnstone.Cli.Verbs;

// A pipe has no width: lines are not broken for it.
if (Console.IsOutputRedirected)
    Spectre.Console.AnsiConsole.Profile.Width = 200;

var root = new RootCommand("""
    Turnstone: reads a failing drive so that what matters most is safe first, and says truthfully, file by file, what was saved.
    The patient is opened read-only and never written to.

    Exit codes: 0 done; 1 refused to start (wrong words, bad input, unsafe target); 2 done, and something is wrong with what
    was checked; 3 stopped before the end, run the same command again to go on; 4 the target can't be trusted any more.
    """)
{
    ReadVerb.Make(),
    MapVerb.Make(),
    FilesVerb.Make(),
    HandoverVerb.Make(),
    CheckVerb.Make(),
    VerifyVerb.Make(),
    RehearseCommand.Make(),
    DemoVerb.Make(),
};
foreach (Command verb in Turnstone.Cli.Lab.LabVerbs.All())
    root.Subcommands.Add(verb);
return Running.Invoke(root, args);
