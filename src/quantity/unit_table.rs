//! The table of units: symbol, spellings, dimension, and the ratio its definition gives.

use super::dimension::Dimension as D;
use super::unit::Unit;

const fn unit(
    symbol: &'static str,
    also: &'static [&'static str],
    dimension: D,
    ratio: (u64, u64),
) -> Unit {
    Unit {
        symbol,
        also,
        dimension,
        ratio,
        zero: 0.0,
    }
}

/// A US gallon is 231 cubic inches, an inch 0.0254 m: cubic metres times 10^12.
const US_GALLON: u64 = 231 * 254 * 254 * 254;
/// An imperial gallon is 4.54609 L: cubic metres times 10^8.
const IMPERIAL_GALLON: u64 = 454_609;
/// A pound is 0.45359237 kg and standard gravity 9.80665 m/s²: newtons times 10^13.
const POUND_FORCE: u64 = 45_359_237 * 980_665;
/// A square inch is 0.0254² m²: square metres times 10^8.
const SQUARE_INCH: u64 = 254 * 254;
/// The conventional millimetre of mercury: 13 595.1 kg/m³ times standard gravity; pascals times 10^9.
const MILLIMETRE_OF_MERCURY: u64 = 135_951 * 980_665;
/// A horsepower hour over a pound, the pound cancelling: 550 ft of lift in standard gravity for an
/// hour, 0.3048 × 550 × 3600 = 603 504 m; joules per kilogram times 10^5.
const HORSEPOWER_HOUR_PER_POUND: u64 = 603_504 * 980_665;
const E6: u64 = 1_000_000;
const E8: u64 = 100_000_000;
const E9: u64 = 1_000_000_000;
const E12: u64 = 1_000_000_000_000;
const E17: u64 = 100_000_000_000_000_000;

/// Every unit the crate knows. The first of a dimension is not special; see [`Unit::base`].
pub(super) const UNITS: &[Unit] = &[
    unit("V", &["volt", "volts"], D::VOLTAGE, (1, 1)),
    unit("mV", &["millivolt", "millivolts"], D::VOLTAGE, (1, 1000)),
    unit("ohm", &["Ω", "Ω", "ohms"], D::RESISTANCE, (1, 1)),
    unit("mohm", &["mΩ", "mΩ"], D::RESISTANCE, (1, 1000)),
    unit("kohm", &["kΩ", "kΩ"], D::RESISTANCE, (1000, 1)),
    unit("Mohm", &["MΩ", "MΩ"], D::RESISTANCE, (E6, 1)),
    unit("A", &["amp", "amps"], D::CURRENT, (1, 1)),
    unit("mA", &["milliamp", "milliamps"], D::CURRENT, (1, 1000)),
    unit("L", &["l", "litre", "liter"], D::VOLUME, (1, 1000)),
    unit("dL", &["dl"], D::VOLUME, (1, 10_000)),
    unit("cL", &["cl"], D::VOLUME, (1, 100_000)),
    unit("mL", &["ml", "cc", "cm3"], D::VOLUME, (1, E6)),
    unit("US gal", &["gal"], D::VOLUME, (US_GALLON, E12)),
    unit("US qt", &["qt"], D::VOLUME, (US_GALLON, 4 * E12)),
    unit(
        "US pint",
        &["US pt", "pt", "pint"],
        D::VOLUME,
        (US_GALLON, 8 * E12),
    ),
    unit("US cup", &["cup"], D::VOLUME, (US_GALLON, 16 * E12)),
    unit("US fl oz", &["fl oz"], D::VOLUME, (US_GALLON, 128 * E12)),
    unit("US tbsp", &["tbsp"], D::VOLUME, (US_GALLON, 256 * E12)),
    unit("US tsp", &["tsp"], D::VOLUME, (US_GALLON, 768 * E12)),
    unit("imp gal", &[], D::VOLUME, (IMPERIAL_GALLON, E8)),
    unit("imp qt", &[], D::VOLUME, (IMPERIAL_GALLON, 4 * E8)),
    unit(
        "imp pint",
        &["imp pt"],
        D::VOLUME,
        (IMPERIAL_GALLON, 8 * E8),
    ),
    unit("imp fl oz", &[], D::VOLUME, (IMPERIAL_GALLON, 160 * E8)),
    unit("L/min", &["l/min"], D::FLOW, (1, 60_000)),
    unit("L/s", &["l/s"], D::FLOW, (1, 1000)),
    unit("L/h", &["l/h"], D::FLOW, (1, 3_600_000)),
    unit("mL/min", &["ml/min", "cc/min"], D::FLOW, (1, 60 * E6)),
    unit("mL/s", &["ml/s", "cc/s"], D::FLOW, (1, E6)),
    unit(
        "US gal/min",
        &["gal/min", "gpm"],
        D::FLOW,
        (US_GALLON, 60 * E12),
    ),
    unit(
        "US gal/h",
        &["gal/h", "gph"],
        D::FLOW,
        (US_GALLON, 3600 * E12),
    ),
    unit(
        "US fl oz/min",
        &["fl oz/min"],
        D::FLOW,
        (US_GALLON, 7680 * E12),
    ),
    unit(
        "US pint/min",
        &["pint/min"],
        D::FLOW,
        (US_GALLON, 480 * E12),
    ),
    unit("imp pint/min", &[], D::FLOW, (IMPERIAL_GALLON, 480 * E8)),
    unit("imp gal/h", &[], D::FLOW, (IMPERIAL_GALLON, 3600 * E8)),
    unit("kPa", &["kpa"], D::PRESSURE, (1000, 1)),
    unit("Pa", &[], D::PRESSURE, (1, 1)),
    unit("MPa", &[], D::PRESSURE, (E6, 1)),
    unit("bar", &[], D::PRESSURE, (100_000, 1)),
    unit("mbar", &["hPa"], D::PRESSURE, (100, 1)),
    unit("atm", &[], D::PRESSURE, (101_325, 1)),
    unit(
        "psi",
        &["PSI", "lbf/in2"],
        D::PRESSURE,
        (POUND_FORCE, SQUARE_INCH * 100_000),
    ),
    unit("kg/cm2", &["kgf/cm2", "kp/cm2"], D::PRESSURE, (980_665, 10)),
    unit("mmHg", &[], D::PRESSURE, (MILLIMETRE_OF_MERCURY, E9)),
    unit(
        "inHg",
        &["in Hg"],
        D::PRESSURE,
        (MILLIMETRE_OF_MERCURY * 254, 10 * E9),
    ),
    unit("inH2O", &["in H2O"], D::PRESSURE, (254 * 980_665, E6)),
    unit("s", &["sec", "second", "seconds"], D::TIME, (1, 1)),
    unit("ms", &[], D::TIME, (1, 1000)),
    unit("min", &["minute", "minutes"], D::TIME, (60, 1)),
    unit("h", &["hour", "hours"], D::TIME, (3600, 1)),
    unit("degC", &["°C", "C", "celsius"], D::TEMPERATURE, (1, 1)),
    Unit {
        symbol: "degF",
        also: &["°F", "F", "fahrenheit"],
        dimension: D::TEMPERATURE,
        ratio: (5, 9),
        zero: 32.0,
    },
    Unit {
        symbol: "K",
        also: &["kelvin"],
        dimension: D::TEMPERATURE,
        ratio: (1, 1),
        zero: 273.15,
    },
    unit("rpm", &["r/min", "1/min"], D::PER_TIME, (1, 60)),
    unit("Hz", &["1/s"], D::PER_TIME, (1, 1)),
    unit("m", &[], D::LENGTH, (1, 1)),
    unit("mm", &[], D::LENGTH, (1, 1000)),
    unit("in", &[], D::LENGTH, (254, 10_000)),
    unit("ft", &[], D::LENGTH, (3048, 10_000)),
    unit("mm2", &[], D::AREA, (1, E6)),
    unit("N m", &["J"], D::ENERGY, (1, 1)),
    unit("lbf ft", &[], D::ENERGY, (POUND_FORCE * 3048, E17)),
    unit("lbf in", &[], D::ENERGY, (POUND_FORCE * 254, E17)),
    unit("coulomb", &[], D::CHARGE, (1, 1)),
    unit("A h", &["Ah"], D::CHARGE, (3600, 1)),
    unit("mA h", &["mAh"], D::CHARGE, (18, 5)),
    unit("W", &[], D::POWER, (1, 1)),
    unit("kW", &[], D::POWER, (1000, 1)),
    unit("hp", &[], D::POWER, (POUND_FORCE * 55 * 3048, E17 / 10)),
    unit("PS", &["metric hp"], D::POWER, (75 * 980_665, 100_000)),
    unit("g/(kW h)", &["g/kWh"], D::MASS_PER_ENERGY, (1, 3_600 * E6)),
    unit(
        "lb/(hp h)",
        &[],
        D::MASS_PER_ENERGY,
        (100_000, HORSEPOWER_HOUR_PER_POUND),
    ),
];
