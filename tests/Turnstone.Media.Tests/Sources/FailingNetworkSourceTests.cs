using System.Net.Sockets;
using Turnstone.Bench;
using Turnstone.Media;
using Turnstone.Media.Network;

namespace Turnstone.Media.Tests.Sources;

/// <summary>Outside servers that refuse, wait, die, or talk nonsense.</summary>
public sealed class FailingNetworkSourceTests : IDisposable
{
    private readonly TempFolder _folder = new();

    public FailingNetworkSourceTests() => File.WriteAllBytes(_folder["image"], MemorySource.OfSectors(4096).Content.ToArray());

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Exactly_the_reads_that_touch_a_bad_sector_are_refused(bool structured)
    {
        using FailingServer server = FailingServer.OnSocket(_folder["image"], ["bad 1000 10"], structured: structured);
        using NetworkSource source = NetworkSource.Open(NetworkAddress.Parse(server.Address));
        using var buffer = new SectorBuffer(1 << 20);
        foreach ((int first, int count, bool good) in (ValueTuple<int, int, bool>[])[(999, 1, true), (1000, 1, false), (1009, 1, false), (1010, 1, true), (0, 1000, true), (0, 1001, false), (1005, 900, false)])
        {
            ReadOutcome outcome = source.Read(SectorRange.Between(first, first + count), buffer.Memory, TimeSpan.FromSeconds(10));
            Assert.Equal(good, outcome is ReadOutcome.Bytes);
            if (!good)
                Assert.Equal(RefusalCause.Unspecified, Assert.IsType<ReadOutcome.Refused>(outcome).Cause);
        }
    }

    [Fact]
    public void Silence_past_the_limit_is_an_answer_and_the_next_question_waits_for_the_first()
    {
        using FailingServer server = FailingServer.OnSocket(_folder["image"], ["slow 100 1 700"]);
        using NetworkSource source = NetworkSource.Open(NetworkAddress.Parse(server.Address));
        var lost = new SectorBuffer(4096);
        using var buffer = new SectorBuffer(4096);
        Assert.False(Assert.IsType<ReadOutcome.Silent>(source.Read(SectorRange.Between(100, 101), lost.Memory, TimeSpan.FromMilliseconds(50))).NotSent);
        Assert.True(Assert.IsType<ReadOutcome.Silent>(source.Read(SectorRange.Between(7, 8), buffer.Memory, TimeSpan.FromMilliseconds(50))).NotSent);
        Assert.IsType<ReadOutcome.Bytes>(source.Read(SectorRange.Between(7, 8), buffer.Memory, TimeSpan.FromSeconds(10)));
    }

    [Fact]
    public void A_server_that_dies_is_gone_for_good()
    {
        using FailingServer server = FailingServer.OnSocket(_folder["image"], []);
        using NetworkSource source = NetworkSource.Open(NetworkAddress.Parse(server.Address));
        using var buffer = new SectorBuffer(4096);
        server.Kill();
        for (int i = 0; i < 3; i++)
            Assert.Equal(RefusalCause.Gone, Assert.IsType<ReadOutcome.Refused>(source.Read(SectorRange.Between(0, 8), buffer.Memory, TimeSpan.FromSeconds(10))).Cause);
    }

    // An honest greeting and export, then anything: the answer is bytes of that length, a refusal or silence, and it comes.
    [Fact]
    public void A_server_that_talks_nonsense_gets_no_further_than_a_refusal() => Gen.Byte.Array[0, 400].Sample(
        nonsense =>
        {
            string path = _folder["socket-" + Guid.NewGuid().ToString("n")[..8]];
            using var listener = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
            listener.Bind(new UnixDomainSocketEndPoint(path));
            listener.Listen();
            Task server = Task.Run(() => Talk(listener, nonsense));
            try
            {
                using NetworkSource source = NetworkSource.Open(NetworkAddress.Parse($"nbd+unix:///?socket={path}"));
                using var buffer = new SectorBuffer(4096);
                Assert.IsType<ReadOutcome.Refused>(source.Read(SectorRange.Between(0, 8), buffer.Memory, TimeSpan.FromSeconds(10)));
            }
            catch (IOException)
            {
                // Nonsense in the handshake is refused when the source is opened.
            }

            server.Wait();
        },
        iter: 60, threads: 1);

    private static void Talk(Socket listener, byte[] nonsense)
    {
        try
        {
            TalkOn(listener, nonsense);
        }
        catch (SocketException)
        {
            // The other side had enough: that is the right answer to nonsense.
        }
    }

    private static void TalkOn(Socket listener, byte[] nonsense)
    {
        using Socket client = listener.Accept();
        client.ReceiveTimeout = 5000;
        bool honest = nonsense.Length % 4 != 0;
        client.Send(honest ? [.. "NBDMAGICIHAVEOPT"u8, 0, 3] : nonsense);
        if (honest)
            Handshake(client);
        client.Send(nonsense);
    }

    private static void Handshake(Socket client)
    {
        byte[] scrap = new byte[4096];
        client.Receive(scrap); // client flags, perhaps with the first option
        byte[] magic = [0, 3, 0xe8, 0x89, 0x04, 0x55, 0x65, 0xa9];
        client.Send([.. magic, 0, 0, 0, 8, 0, 0, 0, 1, 0, 0, 0, 0]);
        client.Receive(scrap);
        client.Send([.. magic, 0, 0, 0, 7, 0, 0, 0, 3, 0, 0, 0, 12, 0, 0, 0, 0, 0, 0, 0, 0x20, 0, 0, 0, 3]);
        client.Send([.. magic, 0, 0, 0, 7, 0, 0, 0, 1, 0, 0, 0, 0]);
    }

    [Fact]
    public void Addresses_are_taken_apart_as_the_protocols_uri_page_says()
    {
        // Source: the NBD project's uri.md (from memory).
        Assert.Equal(("example.net", 10_809, ""), Parts(NetworkAddress.Parse("nbd://example.net")));
        Assert.Equal(("example.net", 1234, "disk one"), Parts(NetworkAddress.Parse("nbd://example.net:1234/disk%20one")));
        NetworkAddress unix = NetworkAddress.Parse("nbd+unix:///a/b?socket=/run/my%20socket");
        Assert.Equal(("a/b", "/run/my socket", null), (unix.Export, unix.Socket, unix.Host));

        static (string?, int, string) Parts(NetworkAddress address) => (address.Host, address.Port, address.Export);
    }
}
