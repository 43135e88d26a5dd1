using System.Runtime.InteropServices;

namespace Turnstone.Cli;

/// <summary>Turns an interrupt or a polite request to end into a clean stop instead of the process's death.</summary>
internal sealed class StopSignal : IDisposable
{
    private readonly CancellationTokenSource _source = new();
    private readonly PosixSignalRegistration[] _signals;

    public StopSignal() => _signals = [Watch(PosixSignal.SIGINT), Watch(PosixSignal.SIGTERM)];

    public CancellationToken Token => _source.Token;

    public void Dispose()
    {
        foreach (PosixSignalRegistration signal in _signals)
            signal.Dispose();
        _source.Dispose();
    }

    private PosixSignalRegistration Watch(PosixSignal signal) => PosixSignalRegistration.Create(signal, context =>
    {
        context.Cancel = true;
        _source.Cancel();
    });
}
