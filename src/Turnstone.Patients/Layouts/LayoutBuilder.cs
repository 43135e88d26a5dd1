using Turnstone.Patients.Chances;

namespace Turnstone.Patients.Layouts;

/// <summary>Lays the segments of a drive out in address order.</summary>
internal sealed class LayoutBuilder
{
    private readonly DriveSpec _drive;
    private readonly double[] _density;
    private readonly int[] _order, _firstTrack;
    private readonly List<Segment> _segments = [];
    private long _next;
    private double _angle;
    private int _bandsBefore;

    private LayoutBuilder(DriveSpec drive, ulong seed)
    {
        _drive = drive;
        _density = Density(drive, seed);
        _order = drive.HeadOrder is { } order ? [.. order] : [.. Enumerable.Range(0, drive.Surfaces)];
        _firstTrack = new int[drive.Surfaces];
    }

    public static Layout Build(DriveSpec drive, ulong seed)
    {
        var builder = new LayoutBuilder(drive, seed);
        for (int zone = 0; zone < drive.Zones.Count; zone++)
            builder.AddZone(zone);
        return new Layout(drive, builder._density, builder._segments);
    }

    private static double[] Density(DriveSpec drive, ulong seed)
    {
        if (drive.Density is { } given)
            return [.. given];
        var chance = Chance.For(seed, "density");
        double[] drawn = [.. Enumerable.Range(0, drive.Surfaces).Select(_ => Math.Clamp(drive.DensitySpread * chance.Normal(), -0.1, 0.1))];
        // About their mean, so that the heads differ and the drive keeps its capacity.
        return [.. drawn.Select(q => q - drawn.Average())];
    }

    private void AddZone(int zone)
    {
        ZoneSpec spec = _drive.Zones[zone];
        int bands = (spec.Tracks + spec.TracksPerBand - 1) / spec.TracksPerBand;
        for (int band = 0; band < bands; band++)
        {
            int nominal = Math.Min(spec.TracksPerBand, spec.Tracks - (band * spec.TracksPerBand));
            AddBand(zone, nominal, IsReversed(band));
        }

        _bandsBefore += bands;
    }

    private bool IsReversed(int band) => _drive.Order switch
    {
        BandOrder.Cyclic => false,
        BandOrder.Reversing => band % 2 == 1,
        BandOrder.ReversingThroughout => (_bandsBefore + band) % 2 == 1,
    };

    private void AddBand(int zone, int nominalTracks, bool reversed)
    {
        for (int i = 0; i < _order.Length; i++)
        {
            int head = _order[reversed ? _order.Length - 1 - i : i];
            // The two shares are an assumption: most of a head's density goes into the track, less into the number of tracks.
            int tracks = Math.Max(1, (int)Math.Round(nominalTracks * (1 + (0.3 * _density[head]))));
            int sectors = Math.Max(1, (int)Math.Round(_drive.Zones[zone].SectorsPerTrack * (1 + (0.7 * _density[head]))));
            bool inward = _drive.Direction == SweepDirection.Inward || i % 2 == 0;
            var segment = new Segment(_next, head, zone, _firstTrack[head], tracks, inward, sectors, _angle);
            _segments.Add(segment);
            _firstTrack[head] += tracks;
            _next = segment.End;
            // The last track ends where it began; from there the next head needs its switch.
            double angle = segment.AngleAt(tracks - 1, _drive.TrackSkew) + _drive.HeadSkew;
            _angle = angle - Math.Floor(angle);
        }
    }
}
