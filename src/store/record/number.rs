//! A stored number: exactly the one written, also where JSON has no word for it.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A number that survives storage bit for bit, infinities included; NaN stays NaN.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number(pub f64);

#[derive(Deserialize)]
#[serde(untagged)]
enum Form {
    Finite(f64),
    Word(Word),
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Word {
    Infinite,
    MinusInfinite,
    NotANumber,
}

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            f64::INFINITY => Word::Infinite.serialize(serializer),
            f64::NEG_INFINITY => Word::MinusInfinite.serialize(serializer),
            value if value.is_nan() => Word::NotANumber.serialize(serializer),
            value => serializer.serialize_f64(value),
        }
    }
}

impl<'de> Deserialize<'de> for Number {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Ok(Self(match Form::deserialize(deserializer)? {
            Form::Finite(value) => value,
            Form::Word(Word::Infinite) => f64::INFINITY,
            Form::Word(Word::MinusInfinite) => f64::NEG_INFINITY,
            Form::Word(Word::NotANumber) => f64::NAN,
        }))
    }
}

impl From<f64> for Number {
    fn from(value: f64) -> Self {
        Self(value)
    }
}

impl From<Number> for f64 {
    fn from(number: Number) -> Self {
        number.0
    }
}

/// An optional number, on its way into storage.
pub(super) fn put(value: Option<f64>) -> Option<Number> {
    value.map(Number)
}

/// An optional number, on its way out.
pub(super) fn got(number: Option<Number>) -> Option<f64> {
    number.map(f64::from)
}
