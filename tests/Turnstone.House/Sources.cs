using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;
using Turnstone.Bench;

namespace Turnstone.House;

/// <summary>A method that is longer than others.</summary>
internal sealed record LongMethod(string File, string Name, int Lines);

/// <summary>The code as text, without a compiler's opinion.</summary>
internal static class Sources
{
    /// <summary>Source files under a folder of the repository, by their path in it.</summary>
    public static IEnumerable<string> Files(string folder) => Directory.EnumerateFiles(Path.Combine(Repository.Root, folder), "*.cs", SearchOption.AllDirectories)
        .Select(path => Path.GetRelativePath(Repository.Root, path))
        .Where(path => !path.Split('/').Any(part => part is "obj" or "bin" or "Migrations"))
        .Order(StringComparer.Ordinal);

    public static string Text(string file) => File.ReadAllText(Path.Combine(Repository.Root, file));

    /// <summary>Methods, constructors and local functions with the lines from their first brace or arrow to their end.</summary>
    public static IEnumerable<LongMethod> Methods(string file, string text)
    {
        SyntaxNode root = CSharpSyntaxTree.ParseText(text).GetRoot();
        foreach (SyntaxNode node in root.DescendantNodes())
        {
            (string Name, SyntaxNode? Body) found = node switch
            {
                MethodDeclarationSyntax m => (m.Identifier.Text, (SyntaxNode?)m.Body ?? m.ExpressionBody),
                ConstructorDeclarationSyntax c => (c.Identifier.Text, (SyntaxNode?)c.Body ?? c.ExpressionBody),
                LocalFunctionStatementSyntax l => (l.Identifier.Text, (SyntaxNode?)l.Body ?? l.ExpressionBody),
                _ => ("", null),
            };
            if (found.Body is not { } body)
                continue;
            FileLinePositionSpan span = body.GetLocation().GetLineSpan();
            yield return new LongMethod(file, found.Name, span.EndLinePosition.Line - span.StartLinePosition.Line + 1);
        }
    }
}
