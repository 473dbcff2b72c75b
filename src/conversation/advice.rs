//! What is worth saying beside the next step: what pays while something is open, what kit would save.

use super::agenda::Agenda;
use super::draft::Draft;
use super::event::{Event, HandOver, Step, Topic};
use super::gates::to_open;
use super::insight::Insight;
use super::menu::targets;
use crate::reply::{Line, wording};

/// Advice that goes before the step; none where there is none to give.
#[must_use]
pub fn beside(draft: &Draft<'_>, agenda: &Agenda, insight: Option<&Insight<'_>>) -> Vec<Line> {
    let Some(insight) = insight else {
        return Vec::new();
    };
    let kit = worth_kit(draft, &agenda.step).then(|| missing_kit(draft, insight));
    let open = opens(draft, &agenda.step).then(|| while_open(draft, insight));
    kit.into_iter().chain(open).flatten().collect()
}

/// Missing kit is spoken of once, when the rider has said what is at hand, and before giving up.
fn worth_kit(draft: &Draft<'_>, step: &Step) -> bool {
    let told = draft.events.contains(&Event::Settled(Topic::Kit));
    let gives_up = matches!(
        step,
        Step::HandOver(HandOver::NotWorth | HandOver::Unexplained)
    );
    told || (gives_up && draft.state.settled.contains(&Topic::Kit))
}

/// What missing kit would save, in words.
#[must_use]
pub fn missing_kit(draft: &Draft<'_>, insight: &Insight<'_>) -> Option<Line> {
    let (kit, minutes) = insight.missing_kit(&draft.state, draft.knowledge)?;
    let name = &draft.knowledge.kit(&kit)?.name;
    Some(Line::Plain(wording::explain::kit_saves(name, minutes)))
}

fn opens(draft: &Draft<'_>, step: &Step) -> bool {
    let mut targets = targets(step).into_iter();
    matches!(step, Step::Observe(_) | Step::Repair(_))
        && targets.any(|target| !to_open(&draft.state, draft.knowledge, &target).is_empty())
}

fn while_open(draft: &Draft<'_>, insight: &Insight<'_>) -> Option<Line> {
    let ids = insight.while_open(&draft.state, draft.knowledge);
    let names: Vec<String> = ids
        .iter()
        .filter_map(|id| draft.knowledge.observations.get(id))
        .map(|check| check.name.clone())
        .collect();
    (!names.is_empty()).then(|| Line::Plain(wording::explain::while_open(&names)))
}
