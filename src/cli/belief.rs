//! `floatbowl belief`: what evidence says about a system's faults, a JSON line for each.

use super::Failure;
use crate::diagnosis::Terms;
use crate::diagnosis::report::{Evidence, Report};
use crate::knowledge::id::SystemId;
use std::io::{BufRead, Write};
use std::path::Path;

pub(super) fn run(system: &str, folder: Option<&Path>) -> Result<(), Failure> {
    let knowledge = super::knowledge(folder)?;
    let model = knowledge
        .model(&SystemId::from(system))
        .ok_or_else(|| super::knowledge::unknown_system(&knowledge, system))?;
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        let unusable = |reason: &dyn std::fmt::Display| {
            Failure::Unknown(format!("Cannot use the line {line:?}: {reason}"))
        };
        let findings = Evidence::parse(&line)
            .and_then(|evidence| evidence.findings(model))
            .map_err(|reason| unusable(&reason))?;
        let report = Report::of(model, &findings, Terms::default());
        let report = serde_json::to_string(&report).map_err(std::io::Error::from)?;
        writeln!(out, "{report}")?;
        out.flush()?;
    }
    Ok(())
}
