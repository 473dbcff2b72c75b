//! When the questions of the intake count as answered by what was told.

use super::draft::Draft;
use super::event::{Event, Topic};
use super::state::Entry;
use crate::knowledge::id::OutcomeId;

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
        }
        Entry::Repaired(_) => false,
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
