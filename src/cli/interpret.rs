//! `floatbowl interpret`: what messages say, a JSON line for each.

use super::Failure;
use crate::language::trace::Traced;
use crate::language::{Line, Report, interpret, traced};
use clap::Args;
use serde::Serialize;
use std::io::{BufRead, Write};
use std::path::Path;

/// How to print what messages say.
#[derive(Debug, Clone, Args)]
pub(super) struct Interpret {
    /// Add the phrases each message was read by, with the file each stands in.
    #[arg(long)]
    phrases: bool,
}

/// A line of output.
#[derive(Serialize)]
struct Printed {
    #[serde(flatten)]
    report: Report,
    #[serde(skip_serializing_if = "Option::is_none")]
    phrases: Option<Vec<Traced>>,
}

pub(super) fn run(how: &Interpret, folder: Option<&Path>) -> Result<(), Failure> {
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
        let printed = Printed {
            report: Report::from(&said),
            phrases: how
                .phrases
                .then(|| traced(&message.text, &knowledge.phrases)),
        };
        let printed = serde_json::to_string(&printed).map_err(std::io::Error::from)?;
        writeln!(out, "{printed}")?;
        out.flush()?;
    }
    Ok(())
}
