//! When the questions of the intake count as answered by what was told.

use super::draft::Draft;
use super::event::{Event, Found, Topic};
use super::state::Entry;
use crate::knowledge::Knowledge;
use crate::knowledge::id::OutcomeId;
use crate::knowledge::schema::Manner;

/// What counts as having said what is wrong.
#[must_use]
pub fn complaint_known(draft: &Draft<'_>) -> bool {
    let knowledge = draft.knowledge;
    draft.state.entries.iter().any(|entry| match entry {
        Entry::Seen(found) => {
            let yes = OutcomeId::from(format!("{}-yes", found.observation).as_str());
            let present = found.weights.contains(&(yes, 1.0));
            let symptom = knowledge.symptoms.get(&found.observation);
            symptom.is_some_and(|symptom| symptom.complaint && present)
                || tells_trouble(knowledge, found)
        }
        Entry::Repaired(_) => false,
    })
}

/// A result seen on fewer sound bikes than this is a complaint.
const ODD: f64 = 0.1;

/// Whether a check told in words came out as it hardly does on a sound bike: "it cranks slowly".
fn tells_trouble(knowledge: &Knowledge, found: &Found) -> bool {
    let check = knowledge.observations.get(&found.observation);
    check.is_some_and(|check| {
        let odd = |id: &OutcomeId| {
            let mut outcomes = check.outcome.iter();
            outcomes.any(|outcome| outcome.id == *id && outcome.normal < ODD)
        };
        let told = found.measured.is_none();
        let mut likely = found
            .weights
            .iter()
            .filter(|(_, weight)| told || *weight > 0.5);
        check.kind == Manner::Choice && likely.any(|(id, _)| odd(id))
    })
}

/// Findings that say enough to begin without a complaint in so many words.
const ENOUGH: usize = 3;

/// Whether the rider has told so much that asking what is wrong would be asking again.
fn enough_told(draft: &Draft<'_>) -> bool {
    draft.state.entries.len() >= ENOUGH
}

/// Whether anything of history or of what still works is known.
#[must_use]
pub fn background_known(draft: &Draft<'_>) -> bool {
    let history = &draft.knowledge.history;
    let known = draft.state.entries.iter().filter_map(|entry| match entry {
        Entry::Seen(found) => Some(&found.observation),
        Entry::Repaired(_) => None,
    });
    known.filter(|id| history.contains_key(*id)).count() > 0
}

/// Settles what the facts have settled.
pub fn settle(draft: &mut Draft<'_>) {
    let known = [
        (
            Topic::Complaint,
            complaint_known(draft) || enough_told(draft),
        ),
        (Topic::Background, background_known(draft)),
    ];
    for (topic, known) in known {
        if known && !draft.state.settled.contains(&topic) {
            draft.record(Event::Settled(topic));
        }
    }
}
