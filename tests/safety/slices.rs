//! The shipped systems cut into short ones, so that their plans are quick and every step is reached.
//!
//! A slice is a system with all its paths but only a few parts on them. Faults, checks, gates,
//! cautions and openings are those of the files, untouched; only the look ahead gets short.

use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::load;
use toml::{Table, Value};

/// Parts a slice has at most, over all its paths.
const PARTS: usize = 3;

/// The whole knowledge once for every slice, with the slice's systems in place of the whole ones.
pub fn slices() -> Vec<Knowledge> {
    let sources = load::embedded();
    let file = sources
        .iter()
        .find(|source| source.path == "systems.toml")
        .expect("there are systems");
    let whole: Table = toml::from_str(&file.text).expect("systems are TOML");
    let longest = systems(&whole)
        .iter()
        .map(|system| parts(system).len())
        .max()
        .unwrap_or(0);
    (0..longest.div_ceil(PARTS))
        .map(|at| {
            let mut cut = whole.clone();
            for system in cut["system"].as_array_mut().expect("an array") {
                keep(system.as_table_mut().expect("a table"), at);
            }
            let mut sources = load::embedded();
            for source in &mut sources {
                if source.path == "systems.toml" {
                    source.text = toml::to_string(&cut).expect("a table is TOML");
                }
            }
            Knowledge::compile(sources).unwrap_or_else(|verdict| panic!("slice {at}: {verdict}"))
        })
        .collect()
}

fn systems(file: &Table) -> Vec<Table> {
    let systems = file["system"].as_array().expect("an array").iter();
    systems
        .map(|system| system.as_table().expect("a table").clone())
        .collect()
}

/// The parts of a system, each once.
fn parts(system: &Table) -> Vec<String> {
    let paths = system["path"].as_array().expect("paths").iter();
    let lists = paths.map(|path| &path["parts"]).chain([&system["parts"]]);
    let mut parts: Vec<String> = Vec::new();
    for part in lists.flat_map(|list| list.as_array().expect("parts")) {
        let part = part.as_str().expect("an id").to_owned();
        if !parts.contains(&part) {
            parts.push(part);
        }
    }
    parts
}

/// Leaves a system with one run of its parts; a run past the end begins again at the start.
fn keep(system: &mut Table, at: usize) {
    let parts = parts(system);
    let runs = parts.len().div_ceil(PARTS);
    let from = (at % runs) * PARTS;
    let wanted = &parts[from..parts.len().min(from + PARTS)];
    let cut = |list: &mut Value| {
        let list = list.as_array_mut().expect("parts");
        list.retain(|part| {
            wanted
                .iter()
                .any(|wanted| Some(wanted.as_str()) == part.as_str())
        });
    };
    for path in system["path"].as_array_mut().expect("paths") {
        cut(&mut path["parts"]);
    }
    cut(&mut system["parts"]);
}
