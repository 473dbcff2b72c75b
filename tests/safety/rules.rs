//! The safety rules: what each step does and needs, read from the knowledge files and from nothing else.

use floatbowl::knowledge::classifier::LEARNED;
use floatbowl::knowledge::library::PHRASES;
use floatbowl::knowledge::load;
use std::collections::{BTreeMap, BTreeSet};
use toml::{Table, Value};

/// What opening fuel takes, whatever the files say.
const TO_OPEN_FUEL: [&str; 9] = [
    "outdoors",
    "engine-cold",
    "no-flames",
    "bike-steady",
    "extinguisher",
    "protection",
    "bystanders",
    "battery-fuel-apart",
    "fuel-open",
];
/// What switching something on that can spark takes.
const TO_ENERGISE: [&str; 4] = ["outdoors", "no-flames", "bike-steady", "battery-fuel-apart"];
/// What both at once takes besides.
const TO_DELIVER: [&str; 1] = ["pump-delivery"];
/// That fuel is closed again: needed before a spark once fuel may have been open.
pub const FUEL_CLOSED: &str = "fuel-closed";

/// A step as the files describe it.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a flag of its own in the files"
)]
#[derive(Debug, Default, Clone)]
pub struct Step {
    pub gates: BTreeSet<String>,
    pub openings: Vec<String>,
    pub hands_on: bool,
    pub opens_fuel: bool,
    pub energises: bool,
    pub shop: bool,
}

/// The files, as far as safety goes.
#[derive(Debug)]
pub struct Rules {
    pub checks: BTreeMap<String, Step>,
    pub repairs: BTreeMap<String, Step>,
    pub proof: Step,
    /// By id: what stands in the checklist, and whether it holds for one step only.
    pub gates: BTreeMap<String, (String, bool)>,
    openings: BTreeMap<String, (Option<String>, Vec<String>)>,
}

impl Rules {
    /// Reads the files built into the program.
    pub fn read() -> Self {
        let table = |path: &str| !path.starts_with(PHRASES) && !path.starts_with(LEARNED);
        let files: Vec<Table> = load::embedded()
            .iter()
            .filter(|source| table(&source.path))
            .map(|source| toml::from_str(&source.text).expect("a knowledge file is TOML"))
            .collect();
        let all = |key: &str| -> Vec<Table> {
            let lists = files.iter().filter_map(|file| file.get(key)?.as_array());
            lists
                .flatten()
                .filter_map(|item| item.as_table().cloned())
                .collect()
        };
        let proof = files.iter().find_map(|file| file.get("proof")?.as_table());
        Self {
            checks: by_id(&all("observation"), |check| {
                step(check, !list(check, "how").is_empty())
            }),
            repairs: by_id(&all("fault"), |fault| {
                step(fault["repair"].as_table().expect("a table"), true)
            }),
            proof: step(proof.expect("a proof"), true),
            gates: by_id(&all("gate"), |gate| {
                (text(gate, "holds"), text(gate, "scope") == "step")
            }),
            openings: by_id(&all("opening"), |opening| {
                let parent = opening.get("parent").and_then(Value::as_str);
                (parent.map(str::to_owned), list(opening, "gates"))
            }),
        }
    }

    /// Everything that must be confirmed before a step, with what must be opened for it.
    pub fn needs(
        &self,
        step: &Step,
        opened: &BTreeSet<String>,
        fuel_was_open: bool,
    ) -> BTreeSet<String> {
        let mut needs = step.gates.clone();
        for opening in self.to_open(step, opened) {
            needs.extend(self.openings[&opening].1.iter().cloned());
        }
        let mut add = |gates: &[&str]| needs.extend(gates.iter().map(|gate| (*gate).to_owned()));
        if step.opens_fuel {
            add(&TO_OPEN_FUEL);
        }
        if step.energises {
            add(&TO_ENERGISE);
        }
        if step.opens_fuel && step.energises {
            add(&TO_DELIVER);
        }
        // A step that does both opens the fuel anew and says so in its own condition.
        if fuel_was_open && step.energises && !step.opens_fuel {
            add(&[FUEL_CLOSED]);
        } else if !fuel_was_open {
            needs.remove(FUEL_CLOSED);
        }
        needs
    }

    /// The openings a step needs that are still shut, with what they stand behind.
    pub fn to_open(&self, step: &Step, opened: &BTreeSet<String>) -> BTreeSet<String> {
        let mut all = BTreeSet::new();
        let mut wanted = step.openings.clone();
        while let Some(opening) = wanted.pop() {
            wanted.extend(self.openings[&opening].0.clone());
            all.insert(opening);
        }
        all.difference(opened).cloned().collect()
    }
}

fn by_id<T>(tables: &[Table], read: impl Fn(&Table) -> T) -> BTreeMap<String, T> {
    tables
        .iter()
        .map(|table| (text(table, "id"), read(table)))
        .collect()
}

fn text(table: &Table, key: &str) -> String {
    table
        .get(key)
        .and_then(Value::as_str)
        .unwrap_or_default()
        .to_owned()
}

fn list(table: &Table, key: &str) -> Vec<String> {
    let items = table
        .get(key)
        .and_then(Value::as_array)
        .into_iter()
        .flatten();
    items.filter_map(Value::as_str).map(str::to_owned).collect()
}

fn step(table: &Table, hands_on: bool) -> Step {
    let is = |key: &str| table.get(key).and_then(Value::as_bool).unwrap_or(false);
    Step {
        gates: list(table, "gates").into_iter().collect(),
        openings: list(table, "openings"),
        hands_on,
        opens_fuel: is("opens_fuel"),
        energises: is("energises"),
        shop: is("shop"),
    }
}
