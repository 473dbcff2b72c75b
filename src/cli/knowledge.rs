//! `floatbowl knowledge`: check the files, print their shape, export a system.

use super::Failure;
use crate::book;
use crate::knowledge::Knowledge;
use crate::knowledge::classifier::LEARNED;
use crate::knowledge::export::export;
use crate::knowledge::id::SystemId;
use crate::knowledge::library::Source;
use crate::knowledge::schema::File;
use crate::language::training::{self, Course, Message, Sense};
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
    /// Learn from labelled messages which words, alone and in a row, speak for which complaint, history and
    /// danger, and which numbers are readings.
    Train {
        /// Files of messages as `tests/corpus` holds them, one JSON object a line.
        #[arg(long, value_name = "FILE", num_args = 1.., required = true)]
        messages: Vec<PathBuf>,
        /// The table of words to write: `learned/en.tsv` of a knowledge folder. Where messages tell what none
        /// told before, the networks must be made anew as well, or the knowledge is refused.
        #[arg(
            long,
            value_name = "FILE",
            required_unless_present_any = ["network", "recurrent", "numbers", "figures"]
        )]
        out: Option<PathBuf>,
        /// The network of patterns of words that belongs to it: `learned/en-network.tsv`. Takes half an hour.
        #[arg(long, value_name = "FILE")]
        network: Option<PathBuf>,
        /// The network that reads along and belongs to both: `learned/en-recurrent.tsv`. Takes as long.
        #[arg(long, value_name = "FILE")]
        recurrent: Option<PathBuf>,
        /// Words by their senses, which the networks learn together: on each line a name, a tab, and words
        /// parted by spaces, as in `tests/corpus/senses.tsv`.
        #[arg(long, value_name = "FILE")]
        senses: Option<PathBuf>,
        /// The table of numbers to write: `learned/en-numbers.tsv` of a knowledge folder.
        #[arg(long, value_name = "FILE")]
        numbers: Option<PathBuf>,
        /// The network that reads along for numbers and belongs to that table: `learned/en-figures.tsv`. Takes
        /// ten minutes.
        #[arg(long, value_name = "FILE")]
        figures: Option<PathBuf>,
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
        Command::Train {
            messages,
            out,
            network,
            recurrent,
            senses,
            numbers,
            figures,
        } => {
            let learner = Learner {
                knowledge: super::compiled(unlearned(folder)?)?,
                messages: labelled(messages)?,
                senses: kindred(senses.as_deref())?,
            };
            learner.words(out.as_deref())?;
            learner.network(network.as_deref())?;
            learner.recurrent(recurrent.as_deref())?;
            learner.numbers(numbers.as_deref())?;
            learner.figures(figures.as_deref())
        }
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

fn labelled(files: &[PathBuf]) -> Result<Vec<Message>, Failure> {
    let mut messages = Vec::new();
    for file in files {
        let failed = |reason: &dyn std::fmt::Display| {
            Failure::Unknown(format!(
                "Cannot learn from {}: {reason}; give files of labelled messages to --messages.",
                file.display()
            ))
        };
        let text = std::fs::read_to_string(file).map_err(|reason| failed(&reason))?;
        messages.extend(training::messages(&text).map_err(|reason| failed(&reason))?);
    }
    Ok(messages)
}

/// The senses of a file, if one is given.
fn kindred(file: Option<&Path>) -> Result<Vec<Sense>, Failure> {
    let Some(file) = file else {
        return Ok(Vec::new());
    };
    let failed = |reason: &dyn std::fmt::Display| {
        Failure::Unknown(format!(
            "Cannot learn with {}: {reason}; give a file of words by their senses to --senses.",
            file.display()
        ))
    };
    let text = std::fs::read_to_string(file).map_err(|reason| failed(&reason))?;
    training::senses(&text).map_err(|reason| failed(&reason))
}

/// The knowledge files without what was learned before, which may be spoilt or of other messages.
fn unlearned(folder: Option<&Path>) -> Result<Vec<Source>, Failure> {
    let mut sources = super::sources(folder)?;
    sources.retain(|source| !source.path.starts_with(LEARNED));
    Ok(sources)
}

/// What is learned from, and with which words known.
struct Learner {
    knowledge: Knowledge,
    messages: Vec<Message>,
    senses: Vec<Sense>,
}

impl Learner {
    fn words(&self, out: Option<&Path>) -> Result<(), Failure> {
        let learn = || training::train(&self.messages, &self.knowledge.phrases);
        self.write(out, learn, Self::nothing_told)
    }

    fn network(&self, out: Option<&Path>) -> Result<(), Failure> {
        let course = Course::default();
        let phrases = &self.knowledge.phrases;
        let learn = || training::train_network(&self.messages, phrases, &self.senses, &course);
        self.write(out, learn, Self::nothing_told)
    }

    fn recurrent(&self, out: Option<&Path>) -> Result<(), Failure> {
        let course = Course::default();
        let phrases = &self.knowledge.phrases;
        let learn = || training::train_recurrent(&self.messages, phrases, &self.senses, &course);
        self.write(out, learn, Self::nothing_told)
    }

    fn numbers(&self, out: Option<&Path>) -> Result<(), Failure> {
        let learn = || training::train_numbers(&self.messages, &self.knowledge.phrases);
        self.write(out, learn, Self::no_numbers)
    }

    fn figures(&self, out: Option<&Path>) -> Result<(), Failure> {
        let course = Course::of_numbers();
        let phrases = &self.knowledge.phrases;
        let learn =
            || training::train_numbers_along(&self.messages, phrases, &self.senses, &course);
        self.write(out, learn, Self::no_numbers)
    }

    fn nothing_told(&self) -> String {
        format!(
            "No complaint, history or danger is told by {} of these {} messages, so nothing can be learned; \
             give more labelled messages to --messages.",
            training::FEWEST_TOLD,
            self.messages.len(),
        )
    }

    fn no_numbers(&self) -> String {
        format!(
            "These {} messages do not hold both numbers that are readings and numbers that are none, so \
             nothing can be learned; give more messages with their readings labelled to --messages.",
            self.messages.len(),
        )
    }

    /// Writes what is learned to a file, if it is asked for.
    fn write(
        &self,
        out: Option<&Path>,
        learn: impl FnOnce() -> Option<String>,
        nothing: impl FnOnce(&Self) -> String,
    ) -> Result<(), Failure> {
        let Some(out) = out else {
            return Ok(());
        };
        let table = learn().ok_or_else(|| Failure::Unknown(nothing(self)))?;
        let folder = out.parent().unwrap_or(Path::new(""));
        let written = std::fs::create_dir_all(folder).and_then(|()| std::fs::write(out, table));
        written.map_err(|reason| {
            Failure::Unknown(format!(
                "Cannot write {}: {reason}; give a file that can be written to.",
                out.display()
            ))
        })?;
        anstream::println!(
            "{} messages learned from: {}",
            self.messages.len(),
            out.display()
        );
        Ok(())
    }
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
