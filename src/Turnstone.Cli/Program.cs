using System.CommandLine;
using Turnstone.Cli.Rehearse;

var root = new RootCommand("Turnstone");
root.Subcommands.Add(RehearseCommand.Make());
return root.Parse(args).Invoke();
