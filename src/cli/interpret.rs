//! `floatbowl interpret`: what messages say, a JSON line for each.

use super::Failure;
use crate::language::{Line, Report, interpret};
use std::io::{BufRead, Write};
use std::path::Path;

pub(super) fn run(folder: Option<&Path>) -> Result<(), Failure> {
    let knowledge = super::knowledge(folder)?;
    let mut out = std::io::stdout().lock();
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        if line.trim().is_empty() {
            continue;
        }
        let message = Line::parse(&line).map_err(|reason| {
            Failure::Unknown(format!("Cannot use the line {line:?}: {reason}; write {{\"text\": \"...\", \"expecting\": null}}."))
        })?;
        let said = interpret(&message.text, &message.context(), &knowledge.phrases);
        let report = serde_json::to_string(&Report::from(&said)).map_err(std::io::Error::from)?;
        writeln!(out, "{report}")?;
        out.flush()?;
    }
    Ok(())
}
