//! Conversions against the `uom` crate, which carries NIST SP 811's rounded factors.

use floatbowl::quantity::Unit;
use rstest::rstest;
use uom::si::f64::{Power, Pressure, ThermodynamicTemperature, Torque, Volume, VolumeRate};
use uom::si::power::{horsepower, watt};
use uom::si::pressure::{
    atmosphere, bar, inch_of_mercury, kilopascal, millimeter_of_mercury, pascal, psi,
};
use uom::si::thermodynamic_temperature::{degree_celsius, degree_fahrenheit, kelvin};
use uom::si::torque::{newton_meter, pound_force_foot, pound_force_inch};
use uom::si::volume::{
    cubic_meter, cup, fluid_ounce, gallon, gallon_imperial, liter, milliliter, pint_liquid,
    quart_liquid, tablespoon, teaspoon,
};
use uom::si::volume_rate::{cubic_meter_per_second, gallon_per_minute};

fn convert(value: f64, from: &str, to: &str) -> f64 {
    let (from, to) = (Unit::named(from).unwrap(), Unit::named(to).unwrap());
    from.convert(value, to).unwrap()
}

/// `uom` rounds to seven figures.
fn agrees(ours: f64, theirs: f64) {
    assert!(
        (ours / theirs - 1.0).abs() < 1e-6,
        "{ours} against {theirs}"
    );
}

#[rstest]
#[case("psi", Pressure::new::<psi>(7.3))]
#[case("bar", Pressure::new::<bar>(7.3))]
#[case("atm", Pressure::new::<atmosphere>(7.3))]
#[case("mmHg", Pressure::new::<millimeter_of_mercury>(7.3))]
#[case("inHg", Pressure::new::<inch_of_mercury>(7.3))]
#[case("kPa", Pressure::new::<kilopascal>(7.3))]
fn pressures(#[case] unit: &str, #[case] theirs: Pressure) {
    agrees(convert(7.3, unit, "Pa"), theirs.get::<pascal>());
}

#[rstest]
#[case("US gal", Volume::new::<gallon>(7.3))]
#[case("imp gal", Volume::new::<gallon_imperial>(7.3))]
#[case("US qt", Volume::new::<quart_liquid>(7.3))]
#[case("US pint", Volume::new::<pint_liquid>(7.3))]
#[case("US cup", Volume::new::<cup>(7.3))]
#[case("US fl oz", Volume::new::<fluid_ounce>(7.3))]
#[case("US tbsp", Volume::new::<tablespoon>(7.3))]
#[case("US tsp", Volume::new::<teaspoon>(7.3))]
#[case("L", Volume::new::<liter>(7.3))]
#[case("mL", Volume::new::<milliliter>(7.3))]
fn volumes(#[case] unit: &str, #[case] theirs: Volume) {
    agrees(convert(7.3, unit, "L"), theirs.get::<cubic_meter>() * 1e3);
}

#[rstest]
#[case("US gal/min", VolumeRate::new::<gallon_per_minute>(7.3))]
fn flows(#[case] unit: &str, #[case] theirs: VolumeRate) {
    agrees(
        convert(7.3, unit, "L/s"),
        theirs.get::<cubic_meter_per_second>() * 1e3,
    );
}

#[rstest]
#[case("lbf ft", Torque::new::<pound_force_foot>(7.3))]
#[case("lbf in", Torque::new::<pound_force_inch>(7.3))]
fn torques(#[case] unit: &str, #[case] theirs: Torque) {
    agrees(convert(7.3, unit, "N m"), theirs.get::<newton_meter>());
}

#[test]
fn powers() {
    agrees(
        convert(7.3, "hp", "W"),
        Power::new::<horsepower>(7.3).get::<watt>(),
    );
}

#[rstest]
#[case(-40.0)]
#[case(32.0)]
#[case(70.0)]
#[case(536.0)]
fn temperatures(#[case] fahrenheit: f64) {
    let theirs = ThermodynamicTemperature::new::<degree_fahrenheit>(fahrenheit);
    let celsius = convert(fahrenheit, "degF", "degC");
    assert!((celsius - theirs.get::<degree_celsius>()).abs() < 1e-9);
    assert!((convert(celsius, "degC", "K") - theirs.get::<kelvin>()).abs() < 1e-9);
}

#[test]
fn every_base_unit_is_in_the_table() {
    use floatbowl::quantity::Kind;
    for kind in Kind::ALL {
        assert_eq!(Unit::base(kind).kind(), Some(kind));
    }
}
