//! One case of a row: its inputs by name, and whether a result meets what was published.

use floatbowl::quantity::Unit;
use toml::{Table, Value};

/// One case.
pub struct Case<'a>(pub &'a Table);

/// What a check gives.
#[derive(Debug)]
pub enum Said {
    /// A number.
    Number(f64),
    /// A word.
    Word(String),
}

impl Said {
    pub fn word(word: impl Into<String>) -> Self {
        Self::Word(word.into())
    }

    pub fn yes(holds: bool) -> Self {
        Self::word(if holds { "yes" } else { "no" })
    }
}

impl Case<'_> {
    pub fn number(&self, name: &str) -> f64 {
        self.maybe(name)
            .unwrap_or_else(|| panic!("{} needs {name}", self.text("check")))
    }

    pub fn maybe(&self, name: &str) -> Option<f64> {
        as_number(self.0.get(name)?)
    }

    pub fn text(&self, name: &str) -> &str {
        self.0[name].as_str().expect("a text")
    }

    pub fn flag(&self, name: &str) -> bool {
        self.0[name].as_bool().expect("true or false")
    }

    pub fn list(&self, name: &str) -> Vec<f64> {
        let values = self.0[name].as_array().expect("a list");
        values.iter().filter_map(as_number).collect()
    }

    pub fn unit(&self, name: &str) -> &'static Unit {
        Unit::named(self.text(name)).unwrap_or_else(|| panic!("no unit {}", self.text(name)))
    }

    /// Whether a result is what was published, within the tolerance stated beside it.
    pub fn meets(&self, said: &Said) -> Result<(), String> {
        let met = match said {
            Said::Word(word) => word == self.text("says"),
            Said::Number(number) => {
                let expected = self.number("expected");
                let tolerance = match (self.maybe("abs"), self.maybe("rel")) {
                    (Some(abs), None) => abs,
                    (None, Some(rel)) => rel * expected.abs(),
                    _ => panic!("one of abs and rel"),
                };
                (number - expected).abs() <= tolerance
            }
        };
        if met {
            Ok(())
        } else {
            Err(format!("{said:?}, published {}", self.0))
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "small whole numbers")]
fn as_number(value: &Value) -> Option<f64> {
    value
        .as_float()
        .or_else(|| Some(value.as_integer()? as f64))
}
