//! Checks of everything the bot sends against Discord's documented limits, and against good manners.

pub mod command;
pub mod component;
pub mod embed;
pub mod message;
pub mod modal;
pub mod thread;

use serde_json::Value;

use super::call::Call;
use super::reply::{Reply, invalid_form};
use super::world::World;

/// What the checks of one request found.
#[derive(Debug, Default)]
pub struct Findings {
    /// What Discord itself would refuse.
    pub refused: Vec<String>,
    /// What Discord would take, but people should not get.
    pub rude: Vec<String>,
}

impl Findings {
    /// Notes a breach of a limit that Discord enforces.
    pub fn must(&mut self, holds: bool, told: impl FnOnce() -> String) {
        if !holds {
            self.refused.push(told());
        }
    }

    /// Notes a breach of manners.
    pub fn should(&mut self, holds: bool, told: impl FnOnce() -> String) {
        if !holds {
            self.rude.push(told());
        }
    }

    /// A text's length in characters, where it is there.
    pub fn length(&mut self, value: &Value, name: &str, allowed: std::ops::RangeInclusive<usize>) {
        if value.is_null() {
            return;
        }
        let Some(text) = value.as_str() else {
            return self.must(false, || format!("{name} is not a text: {value}"));
        };
        let count = text.chars().count();
        self.must(allowed.contains(&count), || {
            format!("{name} has {count} characters, {allowed:?} allowed")
        });
    }

    /// A list's length, where it is there.
    pub fn count(&mut self, value: &Value, name: &str, allowed: std::ops::RangeInclusive<usize>) {
        if value.is_null() {
            return;
        }
        let count = value.as_array().map_or(0, Vec::len);
        self.must(allowed.contains(&count), || {
            format!("{name}: {count} of them, {allowed:?} allowed")
        });
    }
}

impl World {
    /// Records what the checks found; Discord's refusal comes back as an error answer.
    pub fn judge(&mut self, call: &Call, findings: &Findings) -> Result<(), Reply> {
        let title = call.title();
        for text in findings.refused.iter().chain(&findings.rude) {
            self.breach(format!("{title}: {text}"));
        }
        if findings.refused.is_empty() {
            Ok(())
        } else {
            Err(invalid_form(&findings.refused))
        }
    }
}

/// The elements of a list, or none.
pub fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}
