//! Quantities as they stand in a message, alone.

use super::quantities;
use crate::knowledge::phrase::{PhraseFile, Phrases};
use crate::language::normalise::normalise;
use crate::language::number::numbers;
use crate::language::token::tokens;

fn phrases() -> Phrases {
    let file = |path: &str, text: &str| PhraseFile {
        path: path.into(),
        text: text.into(),
    };
    let files = [
        file(
            "numbers.toml",
            include_str!("../../../knowledge/phrases/en/numbers.toml"),
        ),
        file(
            "units.toml",
            include_str!("../../../knowledge/phrases/en/units.toml"),
        ),
    ];
    Phrases::compile(&files, &[]).expect("the number words and units compile")
}

/// Every quantity of a text: value, upper end, and symbol of the unit.
fn shown(text: &str, phrases: &Phrases) -> String {
    let tokens = tokens(&normalise(text), &phrases.words);
    let numbers = numbers(&tokens, &phrases.numbers);
    let show = |quantity: super::Quantity| {
        let unit = quantity
            .unit
            .map_or("", |unit| &phrases.units.unit(unit).symbol);
        let upper = quantity
            .upper
            .map_or(String::new(), |upper| format!("..{upper}"));
        format!("{}{upper} {unit}", quantity.value)
            .trim_end()
            .to_owned()
    };
    let found = quantities(&tokens, &numbers, phrases).into_iter().map(show);
    found.collect::<Vec<_>>().join("; ")
}

#[test]
fn numbers_with_units_and_what_belongs_together() {
    let phrases = phrases();
    let cases = [
        ("12.4 V", "12.4 V"),
        ("12.4volts", "12.4 V"),
        ("12,650 V", "12.65 V"),
        ("1.300 rpm", "1300 rpm"),
        ("13,300 ohms", "13300 ohm"),
        ("13 300 ohms", "13300 ohm"),
        ("4k7 ohm", "4.7 kohm"),
        ("4.7 k ohm", "4.7 kohm"),
        ("4.7k", "4700"),
        ("4k rpm", "4 krpm"),
        ("12 volts 3", "12.3 V"),
        ("12 volts 3 times", "12 V; 3"),
        ("twelve volts four", "12.4 V"),
        ("twelve volts four times", "12 V; 4"),
        ("4 amp 2", "4.2 A"),
        ("10 amp 2", "10 A; 2"),
        ("twelve volts one", "12.1 V"),
        ("twelve volts one in three tries", "12 V; 1; 3"),
        ("psi: 40 and volts: 12.4", "40 psi; 12.4 V"),
        ("10 second run", "10 s"),
        ("0.25 l : 18 s", "0.25 L; 18 s"),
        ("2 k 2", "2200"),
        ("one k five", "1500"),
        ("2 k 22", "2000; 22"),
        (
            "15 s: 90 ml. Then 15 s: 240 ml",
            "15 s; 90 mL; 15 s; 240 mL",
        ),
        ("A: 12.6 B: 11.9 C: 0.1", "12.6; 11.9; 0.1"),
        (
            "at 5000 rpm: 52, 51 and 18 volts",
            "5000 rpm; 52 V; 51 V; 18 V",
        ),
        ("2 plugs, 4 fuses and 18 volts", "2; 4; 18 V"),
        ("52, 51 and 53 volts", "52 V; 51 V; 53 V"),
        ("52/51/53 volts", "52 V; 51 V; 53 V"),
        ("volts 62/61/62", "62 V; 61 V; 62 V"),
        ("165/160 psi", "165 psi; 160 psi"),
        ("455 and 462 ohms", "455 ohm; 462 ohm"),
        ("12/24 volts", "12; 24 V"),
        ("cylinders 1, 2 and 3 ohms", "1; 2; 3 ohm"),
        ("a 2012, 12 volts", "2012; 12 V"),
        ("the 200 ohm or the 2k one", "200 ohm; 2000; 1"),
        ("12 , 4", "12.4"),
        ("12 65", "12.65"),
        ("3 ohm, 4", "3 ohm; 4"),
        ("12.4-12.6 V", "12.4..12.6 V"),
        ("12.4/12.5 V", "12.4..12.5 V"),
        ("between 3 and 4 ohms", "3..4 ohm"),
        ("10 and 12 V", "10 V; 12 V"),
        ("10 and 14 V", "10; 14 V"),
        ("1 min 20 s", "80 s"),
        ("1 min 40", "100 s"),
        ("a minute and ten", "70 s"),
        ("a minute and a half", "1.5 min"),
        ("25 ml and a quarter of it was water", "25 mL; 0.25"),
        ("1:40", "100 s"),
        ("half a litre", "0.5 L"),
        ("half a 500 ml bottle", "250 mL"),
        ("the 600 ml bottle was one third full", "200 mL"),
        ("a one litre carton, four fifths full", "0.8 L"),
        (
            "of the 600 ml bottle one third of it",
            "600 mL; 0.3333333333333333",
        ),
        ("left 9.5, right 8.5, both inHg", "9.5 inHg; 8.5 inHg"),
        ("104 and 99, both in Fahrenheit", "104 degF; 99 degF"),
        ("12.4 and 11 ohm, both from him", "12.4; 11 ohm"),
        (
            "11.8, 11.9, 11.8, 2.1 ohms",
            "11.8 ohm; 11.9 ohm; 11.8 ohm; 2.1 ohm",
        ),
        ("12.4, 2.1 ohms", "12.4; 2.1 ohm"),
        ("2k8", "2800"),
        ("8 years and 74 000", "8; 74000"),
        ("idle 1200, cold 900, rpm", "1200 rpm; 900 rpm"),
        ("minute and a half", "1.5 min"),
        ("a couple of ohms", "2 ohm"),
        ("an imperial pint", "1 imp pt"),
        ("a UK pint", "1 imp pt"),
        ("200 mV", "200 mV"),
        ("2.5 MΩ", "2.5 Mohm"),
        ("2.5 mΩ", "2.5 mohm"),
        ("4 min 35 s", "275 s"),
        ("V 11.6, A 3.9, psi: 41", "11.6 V; 3.9 A; 41 psi"),
        ("V 11.6 on A 3", "11.6 V; 3 A"),
        ("phase A 0.7, phase B 0.8", "0.7; 0.8"),
        ("0.6 A-C 0.7", "0.6; 0.7"),
        ("300 kPa plus or minus 10", "300 kPa"),
        ("4 ohm +-10%", "4 ohm"),
        ("12 volts to 85 and 86", "12 V; 85; 86"),
    ];
    for (text, expected) in cases {
        assert_eq!(shown(text, &phrases), expected, "{text}");
    }
}
