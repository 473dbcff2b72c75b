//! `floatbowl transcript`: conversations for volunteers to read, correct, confirm and keep.

use super::Failure;
use super::data::{Data, wait};
use super::door::{OverStore, World};
use crate::conversation::event::{Correction, Event, Logged, Turn};
use crate::knowledge::Knowledge;
use crate::knowledge::id::{FaultId, ObservationId, OutcomeId};
use crate::review::case::Case;
use crate::review::page::page;
use crate::review::queue::{Mark, marks, may_read};
use crate::review::replay::Said;
use crate::review::transcript::{Past, Transcript, transcript};
use crate::store::Note;
use crate::store::name::{ConversationId, Group};
use clap::{Args, Subcommand, ValueEnum};
use jiff::Timestamp;
use std::io::Write;
use std::path::PathBuf;

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// List the conversations a volunteer may read.
    List(List),
    /// Print one, with what was understood beside every message.
    Show(One),
    /// Print all that a volunteer may read.
    Export(List),
    /// Print one as a case, to be kept under tests/cases; the rider must have consented.
    Keep {
        #[command(flatten)]
        one: One,
        /// What it is about, in a sentence.
        #[arg(long)]
        about: String,
    },
    /// Say what a message meant.
    Correct {
        #[command(flatten)]
        one: One,
        /// The turn that was misunderstood.
        #[arg(long)]
        turn: Turn,
        /// What it said: an observation and its outcome.
        #[arg(long, value_name = "OBSERVATION=OUTCOME", num_args = 1..)]
        meant: Vec<String>,
        /// In your words, if more is to be said. Leave names and places out.
        #[arg(long, default_value = "")]
        note: String,
    },
    /// Say what was wrong with the bike; without a fault, nothing that the knowledge has.
    Confirm {
        #[command(flatten)]
        one: One,
        /// The faults.
        #[arg(long, value_name = "FAULT", num_args = 1..)]
        fault: Vec<String>,
    },
}

#[derive(Debug, Args)]
pub(super) struct List {
    /// Only those with this mark; given again, with any of them.
    #[arg(long, value_name = "MARK")]
    mark: Vec<Wanted>,
    /// Only those of this group.
    #[arg(long)]
    group: Option<String>,
    /// JSON in place of text.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: Data,
}

#[derive(Debug, Args)]
pub(super) struct One {
    /// The conversation.
    id: ConversationId,
    /// JSON in place of Markdown.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    data: Data,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Wanted {
    /// Something was not understood.
    NotUnderstood,
    /// One result contradicts the others.
    Contradictory,
    /// A danger was reported.
    Hazard,
    /// A person took over.
    HandedOver,
    /// It took many turns.
    Long,
}

impl Wanted {
    fn mark(self) -> Mark {
        match self {
            Self::NotUnderstood => Mark::NotUnderstood,
            Self::Contradictory => Mark::Contradictory,
            Self::Hazard => Mark::Hazard,
            Self::HandedOver => Mark::HandedOver,
            Self::Long => Mark::Long,
        }
    }
}

impl OverStore for Command {
    fn folder(&self) -> PathBuf {
        match self {
            Self::List(list) | Self::Export(list) => list.data.folder(),
            Self::Show(one)
            | Self::Keep { one, .. }
            | Self::Correct { one, .. }
            | Self::Confirm { one, .. } => one.data.folder(),
        }
    }

    fn perform(&self, world: &World<'_>, out: &mut dyn Write) -> Result<(), Failure> {
        match self {
            Self::List(list) => print_list(world, list, out),
            Self::Export(list) => export(world, list, out),
            Self::Show(one) => {
                let past = readable(world, one.id)?;
                let transcript = transcript(&past, world.knowledge);
                print(&past, &transcript, one.json, out)
            }
            Self::Keep { one, about } => keep(world, one, about, out),
            Self::Correct {
                one,
                turn,
                meant,
                note,
            } => {
                let past = readable(world, one.id)?;
                let correction = correction(world.knowledge, &past, *turn, (meant, note))?;
                add(world, &past, Event::Corrected(correction))?;
                writeln!(out, "Noted.")?;
                Ok(())
            }
            Self::Confirm { one, fault } => {
                let past = readable(world, one.id)?;
                let faults = faults(world.knowledge, fault)?;
                add(world, &past, Event::Confirmed(faults))?;
                writeln!(out, "Noted.")?;
                Ok(())
            }
        }
    }
}

/// A conversation that a volunteer may read.
fn readable(world: &World<'_>, id: ConversationId) -> Result<Past, Failure> {
    match past(world, id)? {
        Some((past, true)) => Ok(past),
        Some((_, false)) => Err(Failure::Unknown(format!(
            "Conversation {id} is not open to volunteers: its rider did not consent, and the \
             group's setting does not allow it without."
        ))),
        None => Err(Failure::Unknown(format!(
            "There is no conversation {id}; `floatbowl transcript list` names them."
        ))),
    }
}

/// A conversation, and whether a volunteer may read it.
fn past(world: &World<'_>, id: ConversationId) -> Result<Option<(Past, bool)>, Failure> {
    let (past, home) = wait(async {
        let past = Past::load(world.store, id).await?;
        Ok::<_, crate::store::StoreError>((past, world.store.home(id).await?))
    })??;
    let (Some(past), Some(home)) = (past, home) else {
        return Ok(None);
    };
    let setting = wait(world.store.setting(home.address.group()))??;
    let may = may_read(past.consent(), past.status, &setting);
    Ok(Some((past, may)))
}

/// A conversation to be read, with its marks.
type Found = (Past, Transcript, Vec<Mark>);

/// Those a volunteer may read and wants to, and how many they may not.
fn wanted(world: &World<'_>, list: &List) -> Result<(Vec<Found>, usize), Failure> {
    let (mut found, mut closed) = (Vec::new(), 0);
    let ids = match &list.group {
        Some(group) => wait(world.store.of_group(Group::new(group)))??,
        None => wait(world.store.all())??,
    };
    for id in ids {
        match past(world, id)? {
            Some((past, true)) => {
                let transcript = transcript(&past, world.knowledge);
                let marks = marks(&past, &transcript);
                let any = list.mark.iter().any(|mark| marks.contains(&mark.mark()));
                if list.mark.is_empty() || any {
                    found.push((past, transcript, marks));
                }
            }
            Some((_, false)) => closed += 1,
            None => {}
        }
    }
    Ok((found, closed))
}

fn print_list(world: &World<'_>, list: &List, out: &mut dyn Write) -> Result<(), Failure> {
    let (found, closed) = wanted(world, list)?;
    for (_, transcript, marks) in &found {
        let line = serde_json::json!({
            "id": transcript.id,
            "opened": transcript.opened,
            "status": transcript.status,
            "turns": transcript.turns.len(),
            "marks": marks,
            "confirmed": transcript.confirmed,
        });
        if list.json {
            writeln!(out, "{line}")?;
            continue;
        }
        let marks: Vec<String> = line["marks"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|mark| mark.as_str().map(str::to_owned))
            .collect();
        writeln!(
            out,
            "{}  {}  {:<11}  {:>3} turns  {}",
            transcript.id,
            transcript.opened.strftime("%Y-%m-%d"),
            line["status"].as_str().unwrap_or_default(),
            transcript.turns.len(),
            marks.join(", ")
        )?;
    }
    if !list.json {
        writeln!(
            out,
            "{} to read, {closed} not open to volunteers",
            found.len()
        )?;
    }
    Ok(())
}

fn export(world: &World<'_>, list: &List, out: &mut dyn Write) -> Result<(), Failure> {
    for (past, transcript, _) in wanted(world, list)?.0 {
        print(&past, &transcript, list.json, out)?;
    }
    Ok(())
}

fn print(
    past: &Past,
    transcript: &Transcript,
    json: bool,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let marks = marks(past, transcript);
    if json {
        let mut value = serde_json::to_value(transcript).map_err(std::io::Error::from)?;
        value["marks"] = serde_json::to_value(marks).map_err(std::io::Error::from)?;
        writeln!(out, "{value}")?;
    } else {
        writeln!(out, "{}", page(transcript, &marks))?;
    }
    Ok(())
}

fn keep(world: &World<'_>, one: &One, about: &str, out: &mut dyn Write) -> Result<(), Failure> {
    let past = readable(world, one.id)?;
    if past.consent() != Some(true) {
        return Err(Failure::Unknown(format!(
            "The rider of {} did not consent, so it cannot be kept as a case.",
            one.id
        )));
    }
    let case = Case::of(about, &Said::of(&past), past.confirmed());
    write!(out, "{}", case.text())?;
    Ok(())
}

/// Adds a note under the last turn. What was said meanwhile comes first.
fn add(world: &World<'_>, past: &Past, event: Event) -> Result<(), Failure> {
    let turn = past.kept.last().map_or(0, |kept| kept.logged.turn);
    let note = Note {
        conversation: past.id,
        at: Timestamp::now(),
        after: u32::try_from(past.kept.len()).unwrap_or(u32::MAX),
        events: vec![Logged { turn, event }],
    };
    wait(world.store.note(note))??;
    Ok(())
}

fn correction(
    knowledge: &Knowledge,
    past: &Past,
    turn: Turn,
    (meant, note): (&[String], &str),
) -> Result<Correction, Failure> {
    if !past.replies.iter().any(|said| said.turn == turn) {
        return Err(Failure::Unknown(format!(
            "Conversation {} has no turn {turn}; `floatbowl transcript show` numbers them.",
            past.id
        )));
    }
    let pair = |text: &String| {
        let (observation, outcome) = text.split_once('=').ok_or_else(|| {
            Failure::Unknown(format!(
                "{text:?} is not understood; write it as pump-sound=hums"
            ))
        })?;
        let outcome = OutcomeId::from(outcome.trim());
        let observation = ObservationId::from(observation.trim());
        let known = knowledge.outcome(&outcome).map(|(of, _)| of);
        if known.as_ref() != Some(&observation) {
            return Err(Failure::Unknown(format!(
                "{observation} has no outcome {outcome}; `floatbowl knowledge export` lists them"
            )));
        }
        Ok((observation, outcome))
    };
    Ok(Correction {
        turn,
        meant: meant.iter().map(pair).collect::<Result<_, _>>()?,
        note: note.to_owned(),
    })
}

fn faults(knowledge: &Knowledge, names: &[String]) -> Result<Vec<FaultId>, Failure> {
    let known = |name: &String| {
        let id = FaultId::from(name.as_str());
        knowledge
            .faults
            .contains_key(&id)
            .then_some(id)
            .ok_or_else(|| {
                Failure::Unknown(format!(
                    "There is no fault {name}; `floatbowl knowledge export` lists them."
                ))
            })
    };
    names.iter().map(known).collect()
}
