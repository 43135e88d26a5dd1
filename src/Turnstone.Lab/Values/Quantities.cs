namespace Turnstone.Lab.Values;

/// <summary>A length, in metres.</summary>
/// <param name="Metres">The amount.</param>
public readonly record struct Length(double Metres) : IQuantity<Length>
{
    /// <inheritdoc/>
    public static string Kind => "a length";

    /// <inheritdoc/>
    public static IReadOnlyList<Unit> Units { get; } = [new("m", 1), new("mm", 0.001), new("cm", 0.01), new("µm", 1e-06), new("um", 1e-06), new("nm", 1e-09), new("in", 0.0254)];

    /// <inheritdoc/>
    public double InFirstUnit => Metres;

    /// <summary>The same length in micrometres.</summary>
    public double Micrometres => Metres * 1e6;

    /// <summary>The same length in millimetres.</summary>
    public double Millimetres => Metres * 1e3;

    /// <summary>A length given in micrometres.</summary>
    public static Length FromMicrometres(double micrometres) => new(micrometres * 1e-6);

    /// <summary>A length given in millimetres.</summary>
    public static Length FromMillimetres(double millimetres) => new(millimetres * 1e-3);

    /// <summary>The rectangle's area.</summary>
    public static Area operator *(Length width, Length height) => new(width.Metres * height.Metres);

    /// <inheritdoc/>
    public static Length From(double inFirstUnit) => new(inFirstUnit);

    /// <inheritdoc/>
    public override string ToString() => Quantity.Write(this);
}

/// <summary>An area, in square metres.</summary>
/// <param name="SquareMetres">The amount.</param>
public readonly record struct Area(double SquareMetres) : IQuantity<Area>
{
    /// <inheritdoc/>
    public static string Kind => "an area";

    /// <inheritdoc/>
    public static IReadOnlyList<Unit> Units { get; } = [new("m²", 1), new("m2", 1), new("cm²", 0.0001), new("cm2", 0.0001), new("mm²", 1e-06), new("mm2", 1e-06), new("ft2", 0.09290304)];

    /// <inheritdoc/>
    public double InFirstUnit => SquareMetres;

    /// <inheritdoc/>
    public static Area From(double inFirstUnit) => new(inFirstUnit);

    /// <inheritdoc/>
    public override string ToString() => Quantity.Write(this);
}

/// <summary>A volume, in cubic metres.</summary>
/// <param name="CubicMetres">The amount.</param>
public readonly record struct Volume(double CubicMetres) : IQuantity<Volume>
{
    /// <inheritdoc/>
    public static string Kind => "a volume";

    /// <inheritdoc/>
    public static IReadOnlyList<Unit> Units { get; } = [new("m³", 1), new("m3", 1), new("L", 0.001), new("mL", 1e-06), new("ft3", 0.028316846592)];

    /// <inheritdoc/>
    public double InFirstUnit => CubicMetres;

    /// <summary>The same volume in litres.</summary>
    public double Litres => CubicMetres * 1e3;

    /// <summary>A volume given in litres.</summary>
    public static Volume FromLitres(double litres) => new(litres * 1e-3);

    /// <inheritdoc/>
    public static Volume From(double inFirstUnit) => new(inFirstUnit);

    /// <inheritdoc/>
    public override string ToString() => Quantity.Write(this);
}

/// <summary>A speed, in metres per second.</summary>
/// <param name="MetresPerSecond">The amount.</param>
public readonly record struct Speed(double MetresPerSecond) : IQuantity<Speed>
{
    /// <inheritdoc/>
    public static string Kind => "a speed";

    /// <inheritdoc/>
    public static IReadOnlyList<Unit> Units { get; } = [new("m/s", 1), new("mm/s", 0.001), new("cm/s", 0.01), new("ft/min", 0.00508)];

    /// <inheritdoc/>
    public double InFirstUnit => MetresPerSecond;

    /// <inheritdoc/>
    public static Speed From(double inFirstUnit) => new(inFirstUnit);

    /// <inheritdoc/>
    public override string ToString() => Quantity.Write(this);
}

/// <summary>A volume flow, in cubic metres per second.</summary>
/// <param name="CubicMetresPerSecond">The amount.</param>
public readonly record struct Flow(double CubicMetresPerSecond) : IQuantity<Flow>
{
    /// <inheritdoc/>
    public static string Kind => "a volume flow";

    /// <inheritdoc/>
    public static IReadOnlyList<Unit> Units { get; } = [new("m³/s", 1), new("m3/s", 1), new("m³/h", 1 / 3600.0), new("m3/h", 1 / 3600.0), new("L/min", 1 / 60_000.0), new("ft3/min", 0.028316846592 / 60)];

    /// <inheritdoc/>
    public double InFirstUnit => CubicMetresPerSecond;

    /// <summary>The same flow in cubic metres an hour.</summary>
    public double CubicMetresPerHour => CubicMetresPerSecond * 3600;

    /// <summary>The same flow in cubic feet a minute.</summary>
    public double CubicFeetPerMinute => CubicMetresPerSecond * 60 / 0.028316846592;

    /// <inheritdoc/>
    public static Flow From(double inFirstUnit) => new(inFirstUnit);

    /// <inheritdoc/>
    public override string ToString() => Quantity.Write(this);
}

/// <summary>A density, in kilograms per cubic metre.</summary>
/// <param name="KilogramsPerCubicMetre">The amount.</param>
public readonly record struct Density(double KilogramsPerCubicMetre) : IQuantity<Density>
{
    /// <inheritdoc/>
    public static string Kind => "a density";

    /// <inheritdoc/>
    public static IReadOnlyList<Unit> Units { get; } = [new("kg/m³", 1), new("kg/m3", 1), new("g/cm3", 1000)];

    /// <inheritdoc/>
    public double InFirstUnit => KilogramsPerCubicMetre;

    /// <inheritdoc/>
    public static Density From(double inFirstUnit) => new(inFirstUnit);

    /// <inheritdoc/>
    public override string ToString() => Quantity.Write(this);
}

/// <summary>A concentration, in particles per cubic metre.</summary>
/// <param name="PerCubicMetre">The amount.</param>
public readonly record struct Concentration(double PerCubicMetre) : IQuantity<Concentration>
{
    /// <inheritdoc/>
    public static string Kind => "a concentration";

    /// <inheritdoc/>
    public static IReadOnlyList<Unit> Units { get; } = [new("/m³", 1), new("/m3", 1), new("/L", 1000), new("/ft3", 1 / 0.028316846592)];

    /// <inheritdoc/>
    public double InFirstUnit => PerCubicMetre;

    /// <inheritdoc/>
    public static Concentration From(double inFirstUnit) => new(inFirstUnit);

    /// <inheritdoc/>
    public override string ToString() => Quantity.Write(this);
}
