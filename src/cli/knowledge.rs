//! `floatbowl knowledge`: check the files, print their shape, export a system.

use super::Failure;
use crate::book;
use crate::knowledge::Knowledge;
use crate::knowledge::export::export;
use crate::knowledge::id::SystemId;
use crate::knowledge::schema::File;
use annotate_snippets::Renderer;
use clap::Subcommand;
use std::path::{Path, PathBuf};

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Report everything that is wrong with the knowledge files.
    Check,
    /// Print the JSON Schema of a knowledge file, for editors.
    Schema,
    /// Write the handbook: everything known, as one HTML page to read, print and correct.
    Book {
        /// The folder to write index.html into; made where it is missing.
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
    },
    /// Print one system as JSON, complete enough to recompute every belief.
    Export {
        /// Which system, for example pump-carb.
        #[arg(long)]
        system: String,
    },
}

pub(super) fn run(command: &Command, folder: Option<&Path>) -> Result<(), Failure> {
    match command {
        Command::Check => check(folder),
        Command::Schema => print(&schemars::schema_for!(File)),
        Command::Book { out } => write_book(&super::knowledge(folder)?, out),
        Command::Export { system } => {
            let knowledge = super::knowledge(folder)?;
            let model = knowledge
                .model(&SystemId::from(system.as_str()))
                .ok_or_else(|| unknown_system(&knowledge, system))?;
            print(&export(model))
        }
    }
}

fn write_book(knowledge: &Knowledge, out: &Path) -> Result<(), Failure> {
    let page = book::page(knowledge, &book::tale::tales(knowledge));
    let file = out.join("index.html");
    let written = std::fs::create_dir_all(out).and_then(|()| std::fs::write(&file, page));
    written.map_err(|reason| {
        Failure::Unknown(format!(
            "Cannot write {}: {reason}; give a folder that can be written to --out.",
            file.display()
        ))
    })?;
    anstream::println!("{}", file.display());
    Ok(())
}

fn check(folder: Option<&Path>) -> Result<(), Failure> {
    let sources = super::sources(folder)?;
    let files = sources.len();
    match Knowledge::compile(sources) {
        Ok(knowledge) => {
            anstream::println!("{files} files, no problem.");
            for model in &knowledge.models {
                anstream::println!(
                    "  {}: {} faults, {} observations, priors sum to {:.2}",
                    model.system,
                    model.faults.len(),
                    model.observations.len(),
                    model.faults.iter().map(|fault| fault.prior).sum::<f64>(),
                );
            }
            Ok(())
        }
        Err(verdict) => {
            anstream::print!("{}", verdict.render(&Renderer::styled()));
            Err(Failure::Knowledge(format!(
                "{} problem(s) in {files} files.",
                verdict.problems.len()
            )))
        }
    }
}

/// What to answer to a system nobody knows.
pub(super) fn unknown_system(knowledge: &Knowledge, system: &str) -> Failure {
    let known: Vec<&str> = knowledge.systems.keys().map(SystemId::as_str).collect();
    Failure::Unknown(format!(
        "There is no system \"{system}\"; give one of {} to --system.",
        known.join(", ")
    ))
}

fn print(value: &impl serde::Serialize) -> Result<(), Failure> {
    let text = serde_json::to_string(value).map_err(std::io::Error::from)?;
    anstream::println!("{text}");
    Ok(())
}
