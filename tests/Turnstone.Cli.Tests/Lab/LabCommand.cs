using System.CommandLine;
using Microsoft.Extensions.Time.Testing;
using Turnstone.Bench;
using Turnstone.Cli.Lab;

namespace Turnstone.Cli.Tests.Lab;

/// <summary>The lab's verbs, run with a folder of their own and a clock that stands still.</summary>
internal sealed class LabCommand : IDisposable
{
    private readonly TempFolder _folder = new();

    public FakeTimeProvider Clock { get; } = new(new DateTimeOffset(2026, 11, 25, 9, 0, 0, TimeSpan.Zero));

    public string this[string name] => _folder[name];

    public static string Demo(string name) => Path.Combine(Repository.Root, "demo", "lab", name);

    /// <summary>Runs a verb to a good end and answers what it printed.</summary>
    public string Good(params string[] arguments)
    {
        (int code, string output, string errors) = Run(arguments);
        Assert.True(code == 0, $"{string.Join(' ', arguments)} ended with {code}: {errors}{output}");
        return output;
    }

    /// <summary>Runs a verb that must end with 1 and answers its message.</summary>
    public string Bad(params string[] arguments)
    {
        (int code, string output, string errors) = Run(arguments);
        Assert.True(code == 1, $"{string.Join(' ', arguments)} ended with {code}: {output}");
        return errors;
    }

    public (int Code, string Output, string Errors) Run(params string[] arguments)
    {
        var root = new RootCommand("test");
        foreach (Command verb in LabVerbs.All(Clock))
            root.Subcommands.Add(verb);
        using StringWriter output = new(), errors = new();
        string[] all = arguments.Contains("--help") ? arguments : [.. arguments, "--lab", _folder["lab"]];
        int code = root.Parse(all).Invoke(new InvocationConfiguration { Output = output, Error = errors, EnableDefaultExceptionHandler = false });
        return (code, output.ToString(), errors.ToString());
    }

    public void Dispose() => _folder.Dispose();
}
