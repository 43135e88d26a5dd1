using System.Net;
using System.Net.Sockets;

namespace Turnstone.Media.Network;

/// <summary>Address of a network block device: 'nbd://host:port/name' or 'nbd+unix:///name?socket=PATH'.</summary>
/// <remarks>Form: the NBD project's URI specification, doc/uri.md (from memory).</remarks>
/// <param name="Text">As it was given.</param>
/// <param name="Host">Host name, or null for a unix socket.</param>
/// <param name="Port">TCP port; 10809 where none is given.</param>
/// <param name="Socket">Path of the unix socket, or null for TCP.</param>
/// <param name="Export">Name of the export; empty for the server's default.</param>
public sealed record NetworkAddress(string Text, string? Host, int Port, string? Socket, string Export)
{
    private const int UsualPort = 10809;

    /// <summary>Whether a text is meant as such an address.</summary>
    public static bool Is(string text) => text.StartsWith("nbd", StringComparison.Ordinal) && text.Contains("://", StringComparison.Ordinal);

    /// <summary>Takes an address apart.</summary>
    /// <exception cref="FormatException">It cannot be understood; the message says what is wrong.</exception>
    public static NetworkAddress Parse(string text)
    {
        if (!Uri.TryCreate(text, UriKind.Absolute, out Uri? uri))
            throw new FormatException($"'{text}' is no address: write nbd://host:port/name or nbd+unix:///name?socket=PATH");
        string export = Uri.UnescapeDataString(uri.AbsolutePath.StartsWith('/') ? uri.AbsolutePath[1..] : uri.AbsolutePath);
        return uri.Scheme switch
        {
            "nbd" when uri.Host.Length > 0 => new NetworkAddress(text, uri.IdnHost, uri.Port < 0 ? UsualPort : uri.Port, null, export),
            "nbd+unix" => new NetworkAddress(text, null, 0, SocketOf(uri, text), export),
            "nbds" or "nbds+unix" => throw new FormatException($"'{text}' asks for TLS, which is not spoken here: use a tunnel, or nbd:// in a network of its own"),
            _ => throw new FormatException($"'{text}' names no host: write nbd://host:port/name or nbd+unix:///name?socket=PATH"),
        };
    }

    /// <summary>Connects a socket.</summary>
    /// <exception cref="IOException">Nobody answers there.</exception>
    internal Socket Connect()
    {
        Socket socket = Host is null
            ? new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified)
            : new Socket(SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        try
        {
            socket.Connect(Host is null ? new UnixDomainSocketEndPoint(Socket!) : new DnsEndPoint(Host, Port));
            return socket;
        }
        catch (Exception e) when (e is SocketException or ArgumentException)
        {
            socket.Dispose();
            throw new IOException($"{Text}: {e.Message}: is the server running and the address right?", e);
        }
    }

    private static string SocketOf(Uri uri, string text)
    {
        foreach (string pair in uri.Query.TrimStart('?').Split('&'))
        {
            if (pair.StartsWith("socket=", StringComparison.Ordinal) && pair.Length > "socket=".Length)
                return Uri.UnescapeDataString(pair["socket=".Length..]);
        }

        throw new FormatException($"'{text}' names no socket: add ?socket=PATH");
    }
}
