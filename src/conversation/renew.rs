//! Readings judged once more, in the light of what was told after them.

use super::doubt::pending;
use super::draft::Draft;
use super::event::{Display, Event, Measured, Query, Target};
use super::reading::measure;
use super::state::Entry;
use crate::knowledge::id::ObservationId;
use crate::knowledge::schema::Observation;
use crate::quantity::{Circumstances, Kind, Nature};

/// Judges what was read before once more, in the light of what was just said.
pub fn again(draft: &mut Draft<'_>, under: Circumstances, made: &[ObservationId]) {
    let state = draft.state.clone();
    let kept = pending(&state, draft.knowledge);
    let since = state.entries.iter().rev();
    let since = since.take_while(|entry| matches!(entry, Entry::Seen(_)));
    let seen = since.filter_map(|entry| match entry {
        Entry::Seen(found) => Some((&found.observation, found.measured.as_ref()?)),
        Entry::Repaired(_) => None,
    });
    let kept = kept.map(|kept| (&kept.check.id, kept.measured));
    let (was_kept, told) = (kept.is_some(), under);
    let mut done = made.to_vec();
    let mut under = under;
    for (id, before) in kept.into_iter().chain(seen) {
        let check = draft.knowledge.observations.get(id);
        if let Some(check) = check.filter(|_| !done.contains(id)) {
            done.push(id.clone());
            let replaces = made.is_empty() || before.leads.is_none();
            let measured = renewed(draft, check, (before, under), replaces);
            if measured.under != before.under {
                // What was said is about one reading: the one kept back, or else the last.
                under = Circumstances::default();
            }
            if renews(draft, check, (before, &measured)) {
                measure(draft, check, measured);
            }
        }
    }
    if was_kept {
        overtaken(draft, told);
    }
}

/// A reading with what is known by now of the leads and of how it was taken.
fn renewed(
    draft: &Draft<'_>,
    check: &Observation,
    (before, under): (&Measured, Circumstances),
    replaces_leads: bool,
) -> Measured {
    let under = match check.nature {
        Some(Nature::RestedBattery) => Circumstances {
            loaded: None,
            ..under
        },
        Some(Nature::Copper) => Circumstances {
            warmth: under.warmth,
            ..Circumstances::default()
        },
        Some(Nature::UnderLoad | Nature::Drop) => Circumstances {
            loaded: under.loaded,
            ..Circumstances::default()
        },
        Some(Nature::FuelFlow) | None => Circumstances::default(),
    };
    let told_now = draft
        .events
        .iter()
        .any(|event| matches!(event, Event::LeadsRead(_)));
    let of_use = draft
        .state
        .leads
        .as_ref()
        .filter(|leads| leads.display != Some(Display::Overload));
    let leads = match before.raw.quantity {
        Kind::Resistance if told_now && replaces_leads => {
            of_use.cloned().or_else(|| before.leads.clone())
        }
        _ => before.leads.clone(),
    };
    Measured {
        leads,
        under: under.or(before.under),
        ..before.clone()
    }
}

/// Whether judging a reading again says anything new.
fn renews(draft: &Draft<'_>, check: &Observation, (before, now): (&Measured, &Measured)) -> bool {
    if before != now {
        return true;
    }
    draft.events.iter().any(|event| match event {
        Event::SpecTold(spec) => spec.observation == check.id,
        Event::MeterTold(_) => check.quantity.is_some_and(Kind::is_electrical),
        Event::PowerTold(_) => check.nature == Some(Nature::FuelFlow),
        _ => false,
    })
}

/// The readings asked about whose question another reading's has overtaken: of ten pasted at once only one can
/// be asked about at a time. The last first.
pub fn overtaken(draft: &mut Draft<'_>, under: Circumstances) {
    let asked_about = draft.state.query.as_ref().and_then(Query::about).cloned();
    for (id, measured) in waiting(draft) {
        let check = draft.knowledge.observations.get(&id);
        if let Some(check) = check.filter(|_| asked_about.as_ref() != Some(&id)) {
            let measured = renewed(draft, check, (&measured, under), false);
            measure(draft, check, measured);
        }
    }
}

/// Readings put aside with a question that was neither answered nor given up.
fn waiting(draft: &Draft<'_>) -> Vec<(ObservationId, Measured)> {
    let mut waiting: Vec<(ObservationId, Measured)> = Vec::new();
    for logged in draft.state.log() {
        match &logged.event {
            Event::Queried(Query::Reading {
                observation,
                measured,
                ..
            }) => {
                waiting.retain(|(id, _)| id != observation);
                waiting.push((observation.clone(), measured.clone()));
            }
            Event::Found(found) => waiting.retain(|(id, _)| *id != found.observation),
            Event::Declined {
                target: Target::Observation(observation),
                ..
            } => waiting.retain(|(id, _)| id != observation),
            // what was given up or taken back says which no more
            Event::Asked(_) | Event::Undone(_) | Event::StartedOver | Event::Repaired(_) => {
                waiting.clear();
            }
            _ => {}
        }
    }
    waiting
}
