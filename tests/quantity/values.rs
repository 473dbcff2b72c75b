//! Check values: published figures, row by row, against what the crate works out.
//!
//! The rows stand in `tests/values/*.toml`, each with its published source and a code: P the
//! source was read, S a figure attributed to it was found, L recomputed with a library, M recalled.

mod case;
mod electric;
mod fluid;
mod metrology;

use case::{Case, Said};
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;
use toml::Table;

/// What a check gives, or none where the check is not of that family.
type Family = fn(&Case) -> Option<Said>;

const FAMILIES: [Family; 3] = [metrology::check, electric::check, fluid::check];

fn rows(file: &str) -> Vec<Table> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/values")
        .join(file);
    let text = fs::read_to_string(&path).expect("the values are part of the repository");
    let table: Table = text.parse().expect("the values are TOML");
    let rows = table["row"].as_array().expect("rows").clone();
    rows.into_iter()
        .map(|row| row.as_table().expect("a row is a table").clone())
        .collect()
}

fn failures(file: &str) -> Vec<String> {
    let mut failures = Vec::new();
    for row in rows(file) {
        let cases = row["cases"].as_array().expect("cases");
        assert!(!cases.is_empty() && row["source"].as_str().is_some_and(|s| !s.is_empty()));
        for case in cases {
            let case = Case(case.as_table().expect("a case is a table"));
            let said = FAMILIES.iter().find_map(|family| family(&case));
            let said = said.unwrap_or_else(|| panic!("no check named {}", case.text("check")));
            if let Err(miss) = case.meets(&said) {
                failures.push(format!("{} {}: {miss}", row["id"], case.text("check")));
            }
        }
    }
    failures
}

#[test]
fn units() {
    assert_eq!(failures("1-units.toml"), [""; 0]);
}

#[test]
fn uncertainty() {
    assert_eq!(failures("2-uncertainty.toml"), [""; 0]);
}

#[test]
fn resistance() {
    assert_eq!(failures("3-resistance.toml"), [""; 0]);
}

#[test]
fn battery() {
    assert_eq!(failures("4-battery.toml"), [""; 0]);
}

#[test]
fn fuses() {
    assert_eq!(failures("5-fuses.toml"), [""; 0]);
}

#[test]
fn hazards() {
    assert_eq!(failures("6-hazards.toml"), [""; 0]);
}

#[test]
fn flow() {
    assert_eq!(failures("7-flow.toml"), [""; 0]);
}

const GROUPS: [&str; 7] = [
    "1-units.toml",
    "2-uncertainty.toml",
    "3-resistance.toml",
    "4-battery.toml",
    "5-fuses.toml",
    "6-hazards.toml",
    "7-flow.toml",
];

/// How many rows there are, group by group, covered or not.
const LISTED: usize = 21 + 28 + 20 + 15 + 13 + 20 + 19;

#[test]
fn every_row_is_covered_or_says_why_not() {
    let id = |row: &Table| row["id"].as_str().expect("an id").to_owned();
    let covered: Vec<String> = GROUPS
        .iter()
        .flat_map(|file| rows(file))
        .map(|r| id(&r))
        .collect();
    let left: Vec<Table> = rows("uncovered.toml");
    assert!(
        left.iter()
            .all(|row| row["reason"].as_str().is_some_and(|r| r.len() > 20))
    );
    let all: BTreeSet<String> = covered.iter().cloned().chain(left.iter().map(id)).collect();
    assert_eq!(all.len(), covered.len() + left.len(), "an id stands twice");
    assert_eq!(all.len(), LISTED);
    assert!(covered.len() >= 120, "{} rows covered", covered.len());
}
