using System.CommandLine;
using Turnstone.Findings;
using Turnstone.Lab.Documents;
using Turnstone.Lab.Values;

namespace Turnstone.Cli.Lab;

/// <summary>A verb of the lab: its command with the options that all of them have, and what to run.</summary>
internal sealed class LabVerb
{
    private readonly Option<bool> _json = new("--json") { Description = "Print one JSON document instead of tables." };
    private readonly Option<string> _lab = new("--lab") { Description = "Folder of the lab's documents (usually below the user's data folder).", HelpName = "DIR" };
    private readonly Option<string> _tables = new("--tables") { Description = "Folder of edited tables (usually 'tables' in the lab's folder).", HelpName = "DIR" };

    public LabVerb(string name, string description, string example)
    {
        Command = new Command(name, $"{description}\n\nExample:\n  {example}");
        Command.Options.Add(_json);
        Command.Options.Add(_lab);
        Command.Options.Add(_tables);
    }

    public Command Command { get; }

    /// <summary>Adds an option that takes a text.</summary>
    public Option<string?> Text(string name, string description, string help, bool required = false) =>
        Add(new Option<string?>(name) { Description = description, HelpName = help, Required = required });

    /// <summary>Adds an option that may be given several times.</summary>
    public Option<string[]> Texts(string name, string description, string help) =>
        Add(new Option<string[]>(name) { Description = description, HelpName = help, AllowMultipleArgumentsPerToken = false, DefaultValueFactory = _ => [] });

    /// <summary>Adds a switch.</summary>
    public Option<bool> Switch(string name, string description) => Add(new Option<bool>(name) { Description = description });

    /// <summary>Adds an argument.</summary>
    public Argument<T> Argument<T>(string name, string description, ArgumentArity? arity = null)
    {
        var argument = new Argument<T>(name) { Description = description };
        if (arity is { } a)
            argument.Arity = a;
        Command.Arguments.Add(argument);
        return argument;
    }

    /// <summary>Says what to run. Bad input ends with 1 and a message on the error stream.</summary>
    public Command Runs(Func<LabRun, int> run)
    {
        Command.SetAction(parse =>
        {
            try
            {
                var folder = new LabFolder(parse.GetValue(_lab) ?? LabFolder.Usual);
                return run(new LabRun(parse, folder, parse.GetValue(_tables), new LabOutput(parse.InvocationConfiguration.Output, parse.GetValue(_json))));
            }
            catch (Exception e) when (e is BadInputException or IOException or UnauthorizedAccessException)
            {
                parse.InvocationConfiguration.Error.WriteLine($"turnstone: {VisibleText.Of(e.Message)}");
                return ExitCode.BadInput;
            }
        });
        return Command;
    }

    private Option<T> Add<T>(Option<T> option)
    {
        Command.Options.Add(option);
        return option;
    }
}

/// <summary>What a running verb works with.</summary>
internal sealed class LabRun(ParseResult parse, LabFolder folder, string? tables, LabOutput output)
{
    private TableShelf? _shelf;

    public LabFolder Folder { get; } = folder;

    public LabOutput Output { get; } = output;

    public TableShelf Shelf => _shelf ??= Folder.Tables(tables);

    public T? Get<T>(Option<T> option) => parse.GetValue(option);

    public T? Get<T>(Argument<T> argument) => parse.GetValue(argument);

    /// <summary>An option that the verb can't do without.</summary>
    public string Need(Option<string?> option) => Get(option) is { Length: > 0 } text ? text : throw new BadInputException($"{option.Name} is missing: {option.Description}");

    /// <summary>Reads an option in its own spelling.</summary>
    public T Need<T>(Option<string?> option, Reader<T> read) => As(option.Name, Need(option), read);

    /// <summary>Reads an option in its own spelling, or takes the usual value.</summary>
    public T Or<T>(Option<string?> option, Reader<T> read, T usual) => Get(option) is { } text ? As(option.Name, text, read) : usual;

    /// <summary>Reads a file.</summary>
    public static Understood<T> File<T>(string path, Func<string, string, Understood<T>> read) => System.IO.File.Exists(path)
        ? read(path, System.IO.File.ReadAllText(path))
        : throw new BadInputException($"{path}: there is no such file");

    public static T As<T>(string what, string text, Reader<T> read) =>
        read(text, out T value) is { } wrong ? throw new BadInputException($"{what}: {wrong}") : value;

    public static string? Size(string? text, out Length size) => Quantity.TryRead(text, out size);
}

/// <summary>Reads a value from what somebody wrote; answers what is wrong, or null.</summary>
internal delegate string? Reader<T>(string? text, out T value);
