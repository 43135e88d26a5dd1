using System.Diagnostics;
using Turnstone.Media;
using Turnstone.Patients;
using Turnstone.Patients.Damages;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Arena;

/// <summary>How fast the arithmetic runs: a 4 TB patient swept in 1 MiB reads on one core.</summary>
internal static class Speed
{
    public static void Measure(TextWriter output)
    {
        Measure(output, "healthy", []);
        Measure(output, "500 clusters, an arc, one weak head", [new Damage.Latent(500), new Damage.Arc(2, 100_000, 15_000, 0.2, 0.3, 0), new Damage.WeakHead(5, 3.5)]);
    }

    private static void Measure(TextWriter output, string name, IReadOnlyList<Damage> damage)
    {
        Preset preset = Presets.Portable;
        using var self = Process.GetCurrentProcess();
        var watch = Stopwatch.StartNew();
        using var patient = new Patient(new Scenario { Name = name, Seed = 1, Drive = preset.Drive, Timing = preset.Timing, Damage = damage });
        double made = watch.Elapsed.TotalSeconds;
        TimeSpan busy = self.TotalProcessorTime;
        long capacity = patient.Geometry.Capacity.Value, given = 0, refused = 0;
        for (long at = 0; at < capacity; at += 2048)
        {
            SectorRange range = SectorRange.Between(at, Math.Min(capacity, at + 2048));
            if (patient.Ask(range, TimeSpan.FromSeconds(30)).IsGiven)
                given++;
            else
                refused++;
        }

        double real = watch.Elapsed.TotalSeconds - made;
        self.Refresh();
        output.WriteLine($"{name}: made in {made:0.00} s, {given + refused} reads ({refused} refused) in {real:0.0} s ({(self.TotalProcessorTime - busy).TotalSeconds:0.0} s of processor time) and {patient.VirtualClock.Elapsed.TotalHours:0.00} h of virtual time, {capacity * 512.0 / patient.VirtualClock.Elapsed.TotalSeconds / 1e6:0} MB/s virtual, peak memory {self.PeakWorkingSet64 / 1e6:0} MB");
    }
}
