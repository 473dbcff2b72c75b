//! Which volume goes with which time, what a reading belongs to, and what takes another's place.

use super::{filling, readings};
use crate::language::interpretation::{Context, Expecting, Interpretation};
use crate::language::role::candidates;
use crate::language::testing::read;
use crate::quantity::Kind;

/// Readings where a quantity of that kind was asked for.
fn all(text: &str, asked: Kind) -> Vec<super::Reading> {
    let context = Context {
        expecting: Some(Expecting::Quantity(asked)),
        ..Context::default()
    };
    read(text, |text, hits, scopes| {
        let mut found = Interpretation::default();
        readings(text, hits, scopes, &context, &mut found);
        found.readings.into_iter().map(|said| said.what).collect()
    })
}

/// The same as "value of thing".
fn shown(text: &str, asked: Kind) -> Vec<String> {
    let show = |reading: super::Reading| {
        let value = reading.value.unwrap_or(f64::NAN);
        let of = reading.of.as_deref().unwrap_or("-");
        format!("{value} of {of}")
    };
    all(text, asked).into_iter().map(show).collect()
}

/// What they are of.
fn kinds(text: &str, asked: Kind) -> Vec<Kind> {
    let all = all(text, asked).into_iter();
    all.map(|reading| reading.quantity).collect()
}

#[test]
fn volumes_go_with_the_times_they_took() {
    let cases: [(&str, &[bool]); 6] = [
        ("150 ml in 10 seconds", &[true, true]),
        ("it took 35 s to fill a 500 ml bottle", &[true, true]),
        (
            "waited 10 minutes, then 150 ml in 10 s",
            &[false, true, true],
        ),
        ("100 cc/30 s", &[true, true]),
        ("12.4 V after 10 minutes", &[false, false]),
        ("the tank takes 14 litres", &[false]),
    ];
    for (text, expected) in cases {
        let pairs = read(text, |text, hits, scopes| {
            filling::filling(&filling::times(text, &candidates(text, hits, scopes)))
        });
        assert_eq!(pairs, expected, "{text}");
    }
}

#[test]
fn readings_belong_to_the_nearest_thing_in_their_clause() {
    let cases: [(&str, &[&str]); 7] = [
        ("leads 0.3, pump 2.9", &["0.3 of leads", "2.9 of fuel-pump"]),
        ("0R8 and the leads are 0R3", &["0.8 of -", "0.3 of leads"]),
        ("pump=2.4 leads=0.2", &["2.4 of fuel-pump", "0.2 of leads"]),
        (
            "2.2 ohms minus 0.2 for the wires",
            &["2.2 of -", "0.2 of leads"],
        ),
        (
            "with the leads on the pump it reads 3.1",
            &["3.1 of fuel-pump"],
        ),
        ("I zeroed the leads, it is 2.1", &["2.1 of -"]),
        ("probe to probe 0.4", &["0.4 of leads"]),
    ];
    for (text, expected) in cases {
        assert_eq!(shown(text, Kind::Resistance), expected, "{text}");
    }
}

#[test]
fn a_later_value_takes_the_place_of_the_one_it_corrects() {
    let cases: [(&str, &[&str]); 6] = [
        ("14, no wait, 1.4", &["1.4 of -"]),
        ("12.2 no 12.7", &["12.7 of -"]),
        ("1.4, not 14", &["1.4 of -"]),
        ("2.4 then 2.6", &["2.4 of -", "2.6 of -"]),
        ("1.8 (one point eight) ohms", &["1.8 of -"]),
        ("2.2 kohm, so 2200 ohm", &["2200 of -"]),
    ];
    for (text, expected) in cases {
        assert_eq!(shown(text, Kind::Resistance), expected, "{text}");
    }
}

/// A number worked out of others is no reading of its own; the same number of another thing is one.
#[test]
fn what_is_worked_out_is_not_read_again() {
    let cases: [(&str, Kind, &[&str]); 7] = [
        (
            "battery 12.5, plug 11.1, so 1.4 is lost",
            Kind::Voltage,
            &["12.5 of battery", "11.1 of -"],
        ),
        (
            "battery 12.5, plug 11.1, and 1.4 at the lamp",
            Kind::Voltage,
            &["12.5 of battery", "11.1 of -", "1.4 of -"],
        ),
        (
            "pump 1.6, leads 0.4, so really 1.2",
            Kind::Resistance,
            &["1.6 of fuel-pump", "0.4 of leads"],
        ),
        (
            "leads 0.4, pump 1.6, ignition coil 1.2",
            Kind::Resistance,
            &["0.4 of leads", "1.6 of fuel-pump", "1.2 of ignition-coil"],
        ),
        (
            "pump 1.6, leads 0.4, so really 1.3",
            Kind::Resistance,
            &["1.6 of fuel-pump", "0.4 of leads", "1.3 of -"],
        ),
        (
            "20 seconds gave 400 ml, thus 1.2 L a minute",
            Kind::Flow,
            &["20 of -", "0.4 of -"],
        ),
        (
            "20 seconds gave 400 ml, yesterday it was 1.9 L a minute",
            Kind::Flow,
            &["20 of -", "0.4 of -", "1.9 of -"],
        ),
    ];
    for (text, kind, expected) in cases {
        assert_eq!(shown(text, kind), expected, "{text}");
    }
}

#[test]
fn a_value_that_is_meant_again_is_read_once() {
    let cases: [(&str, &[&str]); 4] = [
        ("reads zero. dead zero", &["0 of -"]),
        ("11.75, that is eleven point seven five", &["11.75 of -"]),
        (
            "1.8 with the leads at 0.3, minus the 0.3",
            &["1.8 of -", "0.3 of leads"],
        ),
        ("2.4 here and 2.4 there", &["2.4 of -", "2.4 of -"]),
    ];
    for (text, expected) in cases {
        assert_eq!(shown(text, Kind::Resistance), expected, "{text}");
    }
}

/// What was asked for is told, whatever the moment it was measured in.
#[test]
fn a_moment_says_when_and_not_of_what() {
    let cases = [
        ("0.6 with the key on", Kind::Resistance, Kind::Resistance),
        ("2.5 with the key on", Kind::Current, Kind::Current),
        ("4.2 while cranking", Kind::Current, Kind::Current),
        ("12.3 V with the key on", Kind::Resistance, Kind::Voltage),
    ];
    for (text, asked, expected) in cases {
        assert_eq!(kinds(text, asked), [expected], "{text}");
    }
}

#[test]
fn where_volts_were_asked_for_hundreds_and_thousands_are_turns() {
    let (volts, turns) = (Kind::Voltage, Kind::Speed);
    let cases: [(&str, &[Kind]); 4] = [
        ("hold 2500 and it reads 13.9", &[turns, volts]),
        ("14.1 at 4000", &[volts, turns]),
        (
            "idle 900 reads 12.8, then 3000 13.7",
            &[turns, volts, turns, volts],
        ),
        ("12.8 at the battery, 12.7 at the plug", &[volts, volts]),
    ];
    for (text, expected) in cases {
        assert_eq!(kinds(text, Kind::Voltage), expected, "{text}");
    }
}

/// The prefix that the meter shows is told as a sign, beside the number or after it.
#[test]
fn a_sign_on_the_display_is_a_unit() {
    let cases = [
        ("shows 0.42 with the k symbol lit", "420 of -"),
        ("1.6, with a kilo ohm sign", "1600 of -"),
        ("on the display 0.047 and next to it kΩ", "47 of -"),
        ("1.6, and no k in the corner", "1.6 of -"),
        ("1.6 on the display", "1.6 of -"),
    ];
    for (text, expected) in cases {
        assert_eq!(shown(text, Kind::Resistance), [expected], "{text}");
    }
}
