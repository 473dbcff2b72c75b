//! Random judgements, written as JSON lines for an independent recomputation in Python.
//!
//! Run by `tests/scripts/cross_check_judgements.sh`; it is not part of a plain `cargo test`.

use floatbowl::quantity::distribution::Shape;
use floatbowl::quantity::{Band, Kind, Measured, Meter, Raw, Winding, judge};
use serde_json::{Map, Value, json};
use std::io::Write;

const COUNT: usize = 10_000;

/// A multiplicative generator (Knuth's MMIX constants): the same judgements on every run.
struct Dice(u64);

impl Dice {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
        let share = (self.0 >> 11) as f64 / (1_u64 << 53) as f64;
        low + share * (high - low)
    }

    fn one_in_two(&mut self) -> bool {
        self.between(0.0, 1.0) < 0.5
    }
}

#[test]
#[ignore = "writes to the file named by FLOATBOWL_JUDGEMENTS, for a Python script to recompute"]
fn write_random_judgements() {
    let path = std::env::var("FLOATBOWL_JUDGEMENTS").expect("the file to write");
    let mut file = std::io::BufWriter::new(std::fs::File::create(path).expect("a file"));
    let mut dice = Dice(20_261_125);
    for _ in 0..COUNT {
        writeln!(file, "{}", random_judgement(&mut dice)).expect("a line");
    }
}

fn random_judgement(dice: &mut Dice) -> Value {
    let ohms = dice.one_in_two();
    let kind = if ohms {
        Kind::Resistance
    } else {
        Kind::Voltage
    };
    let step = if ohms { 0.1 } else { 0.01 };
    let value = (dice.between(1.0, 15.0) / step).round() * step;
    let offset = dice
        .one_in_two()
        .then(|| (dice.between(0.0, 0.9) / step).round() * step);
    let (percent, digits) = (dice.between(0.0, 2.0), dice.between(0.0, 3.0).round());
    let contact = dice.between(0.0, 0.1);
    let winding = (ohms && dice.one_in_two()).then(|| random_winding(dice));
    let low = value - offset.unwrap_or(0.0) + dice.between(-0.6, 0.6);
    let high = low + dice.between(0.05, 1.0);
    let gap = dice.between(0.0, 0.3);
    let bands = [
        Band::below(low),
        Band::between(low, high),
        Band::above(high + gap),
    ];
    let meter = Meter::rated(percent, digits).with_contact(contact);
    let raw = |value| Raw::value(kind, value, Some(step));
    let measured = Measured {
        offset: offset.map(raw),
        winding,
        confirmed: true,
        ..Measured::new(raw(value), &bands, &meter)
    };
    let mut written = result(&measured);
    let inputs = json!({
        "ohms": ohms, "value": value, "step": step, "offset": offset, "percent": percent,
        "digits": digits, "contact": contact, "low": low, "high": high, "gap": gap,
        "winding": winding.map(|w| json!([w.at_celsius, w.doubt, w.spec_celsius])),
    });
    written.extend(inputs.as_object().expect("an object").clone());
    Value::Object(written)
}

fn random_winding(dice: &mut Dice) -> Winding {
    Winding {
        at_celsius: dice.between(-10.0, 80.0),
        doubt: dice.between(0.0, 10.0),
        spec_celsius: 20.0,
    }
}

fn result(measured: &Measured) -> Map<String, Value> {
    let judgement = judge(measured).expect("a confirmed reading");
    let estimate = judgement.estimate.expect("a number");
    let parts: Vec<Value> = estimate
        .parts
        .iter()
        .map(|part| shape(part.shape))
        .collect();
    let result = json!({
        "corrected": estimate.corrected, "u": estimate.standard_uncertainty,
        "expanded": estimate.expanded_uncertainty, "parts": parts,
        "weights": judgement.weights,
    });
    result.as_object().expect("an object").clone()
}

fn shape(shape: Shape) -> Value {
    match shape {
        Shape::Rectangle { low, high } => json!({"low": low, "high": high}),
        Shape::Normal { sd } => json!({"sd": sd}),
    }
}
