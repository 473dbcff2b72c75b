//! What must hold of every message: no panic, spans in the text, and numbers that read back.

use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::phrase::Phrases;
use floatbowl::language::interpretation::Expecting;
use floatbowl::language::{Context, interpret};
use floatbowl::quantity::Kind;
use proptest::prelude::*;
use std::sync::LazyLock;

static PHRASES: LazyLock<Phrases> = LazyLock::new(|| Knowledge::embedded().phrases);

/// What a message with one number in it is read as, when that kind is expected.
fn read(text: &str, kind: Kind) -> Option<f64> {
    let context = Context {
        expecting: Some(Expecting::Quantity(kind)),
        ..Context::default()
    };
    let found = interpret(text, &context, &PHRASES);
    let [only] = found.readings.as_slice() else {
        return None;
    };
    only.what.value.filter(|_| only.what.quantity == kind)
}

proptest! {
    #[test]
    fn any_text_is_read_and_every_span_stands_in_it(text in "\\PC{0,200}") {
        let found = interpret(&text, &Context::default(), &PHRASES);
        for span in found.left_over.iter().chain(found.readings.iter().map(|said| &said.span)) {
            prop_assert!(text.get(span.clone()).is_some(), "{span:?}");
        }
    }

    #[test]
    fn any_mix_of_riders_words_is_read(text in "(12\\.4|no|leak|fuel|V|ohm|-|\\.|,|if|not|half|a|in|10|s|pump|dies|hot|when|\\?| |\n){0,60}") {
        let found = interpret(&text, &Context::default(), &PHRASES);
        for said in &found.symptoms {
            prop_assert!(text.get(said.span.clone()).is_some());
        }
    }

    #[test]
    fn a_number_written_in_any_unit_reads_back(thousandths in 1_u32..20_000, unit in 0_usize..60) {
        let units = PHRASES.units.all();
        let unit = &units[unit % units.len()];
        // three digits after a point are thousands on a rev counter: 1.300 rpm
        let steps = if unit.kind == Kind::Speed { 100.0 } else { 1000.0 };
        let number = f64::from(thousandths) / steps;
        let expected = unit.to_base(number);
        let text = format!("{number} {}", spelling(&unit.symbol));
        let value = read(&text, unit.kind);
        prop_assert!(
            value.is_some_and(|value| (value - expected).abs() <= 1e-9 * expected.abs().max(1e-9)),
            "{text}: {value:?}, not {expected}"
        );
    }

    #[test]
    fn a_resistance_coded_by_letter_reads_back(whole in 0_u32..100, part in 0_u32..10) {
        let number = f64::from(whole) + f64::from(part) / 10.0;
        for (letter, factor) in [("R", 1.0), ("k", 1000.0)] {
            let value = read(&format!("{whole}{letter}{part}"), Kind::Resistance);
            prop_assert!(value.is_some_and(|value| (value - number * factor).abs() < 1e-6), "{value:?}");
        }
    }
}

/// How a rider writes the unit of a symbol.
fn spelling(symbol: &str) -> &str {
    match symbol {
        "US pt" => "pints",
        "US qt" => "quarts",
        "US gal" => "gallons",
        "US fl oz" => "fl oz",
        "US cup" => "cups",
        "imp pt" => "imperial pints",
        "imp qt" => "imperial quarts",
        "imp gal" => "imperial gallons",
        "imp fl oz" => "imperial fl oz",
        "US gal/min" => "gpm",
        "US gal/h" => "gph",
        "US pt/min" => "pints per minute",
        "US fl oz/min" => "oz/min",
        "imp pt/min" => "imperial pints per minute",
        "imp gal/min" => "imperial gallons per minute",
        "imp fl oz/min" => "imperial fluid ounces per minute",
        "K" => "kelvin",
        other => other,
    }
}

/// NIST SP 811 (2008), appendix B.8, and the `uom` crate.
#[test]
fn units_agree_with_nist_sp_811() {
    let cases = [
        ("1 psi", Kind::Pressure, 6.894_757),
        ("1 inHg", Kind::Pressure, 3.386_389),
        ("1 bar", Kind::Pressure, 100.0),
        ("1 mmHg", Kind::Pressure, 0.133_322_4),
        ("1 US pint", Kind::Volume, 0.473_176_5),
        ("1 US quart", Kind::Volume, 0.946_352_9),
        ("1 US gallon", Kind::Volume, 3.785_412),
        ("1 fl oz", Kind::Volume, 0.029_573_53),
        ("1 imperial gallon", Kind::Volume, 4.546_09),
        ("1 imperial fl oz", Kind::Volume, 0.028_413_06),
        ("1 gpm", Kind::Flow, 60.0 * 0.063_090_20),
        ("70 degF", Kind::Temperature, 21.111_111),
        ("-40 degF", Kind::Temperature, -40.0),
    ];
    for (text, kind, expected) in cases {
        let value = read(text, kind).unwrap_or_else(|| panic!("{text} is not read"));
        assert!(
            (value - expected).abs() <= 1e-6 * expected.abs(),
            "{text}: {value}, not {expected}"
        );
    }
}

/// The same conversions by the `uom` crate.
#[test]
fn units_agree_with_uom() {
    use uom::si::f64::{Pressure, ThermodynamicTemperature, Volume};
    use uom::si::{pressure, thermodynamic_temperature as temperature, volume};
    let pairs = [
        (
            "43.5 psi",
            Kind::Pressure,
            Pressure::new::<pressure::psi>(43.5).get::<pressure::kilopascal>(),
        ),
        (
            "2.5 bar",
            Kind::Pressure,
            Pressure::new::<pressure::bar>(2.5).get::<pressure::kilopascal>(),
        ),
        (
            "1.5 gallons",
            Kind::Volume,
            Volume::new::<volume::gallon>(1.5).get::<volume::liter>(),
        ),
        (
            "3 pints",
            Kind::Volume,
            Volume::new::<volume::pint_liquid>(3.0).get::<volume::liter>(),
        ),
        (
            "2 imperial gallons",
            Kind::Volume,
            Volume::new::<volume::gallon_imperial>(2.0).get::<volume::liter>(),
        ),
        (
            "180 degF",
            Kind::Temperature,
            ThermodynamicTemperature::new::<temperature::degree_fahrenheit>(180.0)
                .get::<temperature::degree_celsius>(),
        ),
    ];
    for (text, kind, expected) in pairs {
        let value = read(text, kind).unwrap_or_else(|| panic!("{text} is not read"));
        assert!(
            (value - expected).abs() <= 1e-5 * expected.abs(),
            "{text}: {value}, not {expected}"
        );
    }
}
