//! Precision, recall and F1 of what is reported, by field and by id.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Fields whose ids are counted one by one.
pub const COUNTED: [&str; 3] = ["symptoms", "history", "hazards"];

/// How often an id was rightly reported, reported though not labelled, and missed.
#[derive(Debug, Default, Clone, Copy)]
pub struct Count {
    right: u32,
    wrong: u32,
    missed: u32,
}

impl Count {
    /// Harmonic mean of precision and recall, 1 where there was nothing to report.
    pub fn f1(self) -> f64 {
        let both = f64::from(2 * self.right);
        let all = both + f64::from(self.wrong + self.missed);
        if all > 0.0 { both / all } else { 1.0 }
    }

    /// Share of what is labelled that was found.
    pub fn recall(self) -> f64 {
        let all = self.right + self.missed;
        f64::from(self.right) / f64::from(all.max(1))
    }

    fn add(&mut self, other: Self) {
        self.right += other.right;
        self.wrong += other.wrong;
        self.missed += other.missed;
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let share = |part: u32, rest: u32| f64::from(part) / f64::from((part + rest).max(1));
        write!(
            f,
            "precision {:.3} recall {:.3} F1 {:.3} ({} right, {} wrong, {} missed)",
            share(self.right, self.wrong),
            share(self.right, self.missed),
            self.f1(),
            self.right,
            self.wrong,
            self.missed
        )
    }
}

/// Counts by field and id.
#[derive(Debug, Default)]
pub struct Tally(BTreeMap<(&'static str, String), Count>);

impl Tally {
    /// Counts one message: what was read, what is labelled, and what may be read or not.
    pub fn count(&mut self, field: &'static str, got: &Value, label: &Value, either: &Value) {
        let (got, label, either) = (ids(got), ids(label), ids(either));
        for id in got.union(&label).filter(|id| !either.contains(*id)) {
            let count = self.0.entry((field, id.clone())).or_default();
            match (got.contains(id), label.contains(id)) {
                (true, true) => count.right += 1,
                (true, false) => count.wrong += 1,
                _ => count.missed += 1,
            }
        }
    }

    /// The sum over all ids of a field.
    pub fn of(&self, field: &str) -> Count {
        let mut sum = Count::default();
        self.0
            .iter()
            .filter(|((name, _), _)| *name == field)
            .for_each(|(_, count)| sum.add(*count));
        sum
    }
}

impl fmt::Display for Tally {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for ((field, id), count) in &self.0 {
            if count.wrong + count.missed > 0 {
                writeln!(f, "  {field} {id:24} {count}")?;
            }
        }
        for field in COUNTED {
            writeln!(f, "{field:24} {}", self.of(field))?;
        }
        Ok(())
    }
}

/// Ids of a list, `-` before a complaint that is said not to be there.
pub fn ids(list: &Value) -> BTreeSet<String> {
    let id = |one: &Value| {
        let absent = one.get("present") == Some(&Value::Bool(false));
        let name = one.get("id").unwrap_or(one).as_str()?;
        Some(format!("{}{name}", if absent { "-" } else { "" }))
    };
    let list = list.as_array().map(Vec::as_slice).unwrap_or_default();
    list.iter().filter_map(id).collect()
}
