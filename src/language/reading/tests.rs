//! Which volume goes with which time, what a reading belongs to, and what takes another's place.

use super::{filling, readings};
use crate::language::interpretation::{Context, Expecting, Interpretation};
use crate::language::role::candidates;
use crate::language::testing::read;
use crate::quantity::Kind;

/// Readings as "value of thing".
fn shown(text: &str, kind: Kind) -> Vec<String> {
    let context = Context {
        expecting: Some(Expecting::Quantity(kind)),
        ..Context::default()
    };
    read(text, |text, hits, scopes| {
        let mut found = Interpretation::default();
        readings(text, hits, scopes, &context, &mut found);
        let show = |reading: &super::Reading| {
            let value = reading.value.unwrap_or(f64::NAN);
            let of = reading.of.as_deref().unwrap_or("-");
            format!("{value} of {of}")
        };
        found.readings.iter().map(|said| show(&said.what)).collect()
    })
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
            filling::filling(text, &candidates(text, hits, scopes))
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
