//! Which conversations deserve a look, and which a volunteer may read.

use super::transcript::{Past, Seen, Transcript};
use crate::conversation::event::Event;
use crate::store::name::Status;
use crate::store::setting::{Openness, Setting};
use serde::Serialize;

/// More turns than this are long. Common practice, no source: twice what a virtual rider needs.
pub const LONG: usize = 40;

/// Why a conversation deserves a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// Something the rider wrote was not understood.
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

/// The marks of a conversation.
#[must_use]
pub fn marks(past: &Past, transcript: &Transcript) -> Vec<Mark> {
    let event = |is: fn(&Event) -> bool| past.kept.iter().any(|kept| is(&kept.logged.event));
    let turns = &transcript.turns;
    let checks = [
        (Mark::NotUnderstood, turns.iter().any(is_not_understood)),
        (
            Mark::Contradictory,
            turns.iter().any(|seen| seen.conflict.is_some()),
        ),
        (
            Mark::Hazard,
            event(|event| matches!(event, Event::HazardRaised(_))),
        ),
        (
            Mark::HandedOver,
            event(|event| matches!(event, Event::HandedOver(_))),
        ),
        (Mark::Long, turns.len() > LONG),
    ];
    let marked = checks.into_iter().filter(|(_, holds)| *holds);
    marked.map(|(mark, _)| mark).collect()
}

/// A message of which a sentence was left over, or that led to nothing.
fn is_not_understood(seen: &Seen) -> bool {
    seen.text.is_some() && (!seen.left_over.is_empty() || seen.understood.is_empty())
}

/// Whether a volunteer may read a conversation: the rider said yes, or the group's setting allows it
/// and the rider did not say no.
#[must_use]
pub fn may_read(consent: Option<bool>, status: Status, setting: &Setting) -> bool {
    match (consent, setting.open) {
        (Some(yes), _) => yes,
        (None, Openness::Nothing) => false,
        (None, Openness::HandedOver) => status == Status::HandedOver,
        (None, Openness::Everything) => true,
    }
}
