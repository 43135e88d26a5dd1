using Turnstone.Media;
using Turnstone.Patients;
using Turnstone.Patients.Faults;
using Turnstone.Patients.Layouts;
using Turnstone.Patients.Scenarios;

namespace Turnstone.Media.Tests.Sources;

public class PatientSourceTests : BlockSourceContract
{
    protected override IBlockSource Open() => new Patient(new Scenario
    {
        Name = "image",
        Seed = 1,
        Drive = new DriveSpec { Surfaces = 2, Zones = [new ZoneSpec(20, 40, 4)], CapacitySectors = Bytes / 512 },
        Timing = Presets.Slow,
        Content = new Turnstone.Patients.Contents.ContentSpec.Image(Image),
    });
}

public class FaultyFileTests : BlockSourceContract
{
    protected override IBlockSource Open() => new RefusingSource(Media.Sources.Open(Image, SectorSize.Small), []);
}
