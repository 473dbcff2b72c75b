//! What an answer does to the step on the table: one arm for each step, one for each meaning.

use super::condition::{self, unproven};
use super::doubt;
use super::draft::Draft;
use super::event::{Declined, Ending, Event, HandOver, Query, Step, Target, Topic};
use super::hear::Heard;
use super::menu::{HAS, KIT_ALL, KIT_NONE, LEAKS, MISREAD, may_be_misread, targets};
use super::work;
use crate::knowledge::compile::{COMPLAINT, COMPLAINT_GONE, COMPLAINT_THERE};
use crate::knowledge::id::{FaultId, HazardId, KitId, OutcomeId, SystemId};
use crate::knowledge::schema::HazardEnd;
use crate::reply::{Line, Means, wording};

/// Applies an answer. Returns whether it did anything.
pub fn answer(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let Some(step) = draft.state.table.clone() else {
        return false;
    };
    if doubt::answer(draft, heard) {
        return true;
    }
    // The checklist asks itself what is not so.
    if heard.has_reserve() && needs_plain_yes(&step) && step != Step::Surroundings {
        draft.say(Line::Plain(wording::step::PLAIN_YES.to_owned()));
        return true;
    }
    match &step {
        Step::Tell(topic) => tell(draft, *topic, heard),
        Step::Surroundings => condition::checklist(draft, heard),
        Step::Clear { gates, target } => condition::of_step(draft, (gates, target), heard),
        Step::Safe(hazard) => safe(draft, hazard, heard),
        Step::Observe(_) => observe(draft, &step, heard),
        Step::Repair(fault) => repair(draft, fault, heard),
        Step::Prove(fault) => prove(draft, fault, heard),
        Step::Refit => refit(draft, heard),
        Step::HandOver(_) | Step::Stop => false,
    }
}

/// Steps that only a plain yes takes further. Work that was carried out is looked at in the proof.
#[must_use]
pub fn needs_plain_yes(step: &Step) -> bool {
    matches!(
        step,
        Step::Surroundings | Step::Clear { .. } | Step::Safe(_) | Step::Prove(_) | Step::Refit
    )
}

fn tell(draft: &mut Draft<'_>, topic: Topic, heard: &Heard) -> bool {
    if let Some(outcome) = heard.choice.as_deref().filter(|id| id.ends_with("-yes")) {
        picked(draft, outcome);
        return true;
    }
    match topic {
        Topic::Complaint | Topic::Background => settled_by_word(draft, topic, heard),
        Topic::System => system(draft, heard),
        Topic::Kit => kit(draft, heard),
    }
}

/// A complaint or a fact of history picked from the list.
fn picked(draft: &mut Draft<'_>, outcome: &str) {
    let id = outcome.trim_end_matches("-yes");
    draft.record(Event::Found(super::event::Found {
        observation: id.into(),
        weights: vec![(OutcomeId::from(outcome), 1.0)],
        strength: 1.0,
        measured: None,
        asked: false,
    }));
    let words = wording::receipt::picked(draft.knowledge, id);
    draft.say(Line::Receipt(words));
}

/// "Nothing", "I don't know" and "skip" settle a question that only asks to be told more. After the
/// question what changed last any words do: there is nothing in them to insist on.
fn settled_by_word(draft: &mut Draft<'_>, topic: Topic, heard: &Heard) -> bool {
    let gives_up = matches!(
        heard.means,
        Some(Means::No | Means::Unsure | Means::Skip | Means::Cannot | Means::Done)
    );
    let told = topic == Topic::Background && !heard.text.trim().is_empty() && !asks_back(heard);
    if gives_up || told {
        draft.record(Event::Settled(topic));
    }
    gives_up
}

/// Whether the message asks something of the conversation instead of telling something.
fn asks_back(heard: &Heard) -> bool {
    heard.means == Some(Means::Why) || !heard.said.requests.is_empty()
}

fn system(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let id = heard.choice.as_deref().map(SystemId::from);
    if let Some(id) = id.filter(|id| draft.knowledge.systems.contains_key(id)) {
        draft.record(Event::SystemTold(id));
        return true;
    }
    let gives_up = matches!(
        heard.means,
        Some(Means::Unsure | Means::Skip | Means::Cannot)
    );
    if gives_up && draft.state.query == Some(Query::Closer) {
        draft.record(Event::HandedOver(HandOver::UnknownSystem));
    } else if gives_up {
        draft.record(Event::Queried(Query::Closer));
    }
    gives_up
}

fn kit(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    if let Some(kit) = heard
        .choice
        .as_deref()
        .and_then(|choice| choice.strip_prefix(HAS))
    {
        let kit = KitId::from(kit);
        draft.say(Line::Receipt(wording::receipt::kit(
            draft.knowledge,
            &kit,
            true,
        )));
        draft.record(Event::KitTold { kit, has: true });
        return true;
    }
    let all = match (heard.choice.as_deref(), heard.means) {
        (Some(KIT_ALL), _) | (None, Some(Means::Yes)) => Some(true),
        (Some(KIT_NONE), _) | (_, Some(Means::No | Means::Done)) => Some(false),
        _ => None,
    };
    let said = !heard.said.kit.is_empty();
    if let Some(has) = all.filter(|_| !said) {
        the_rest(draft, has);
    }
    // Who does not know what is in the toolbox has not said that it is empty.
    let leaves_it = matches!(
        heard.means,
        Some(Means::Unsure | Means::Skip | Means::Cannot)
    );
    let answered = all.is_some() || said || leaves_it;
    if answered {
        draft.record(Event::Settled(Topic::Kit));
    }
    answered
}

/// Of what was not named one by one, the rider has all or nothing.
fn the_rest(draft: &mut Draft<'_>, has: bool) {
    let unnamed: Vec<KitId> = draft
        .knowledge
        .kit
        .iter()
        .map(|kit| kit.id.clone())
        .filter(|kit| !draft.state.kit.contains_key(kit))
        .collect();
    for kit in unnamed {
        draft.record(Event::KitTold { kit, has });
    }
}

/// Whether the rider says outright that the danger was misread, where it may have been: who asks, doubts or only
/// plays it down has not said so.
fn is_misread(draft: &Draft<'_>, hazard: &HazardId, heard: &Heard) -> bool {
    let mut requests = heard.said.requests.iter();
    let said = requests.any(|it| it.what.as_str() == MISREAD && it.strength >= 1.0);
    let said = said && !heard.text.contains('?');
    let may_be = may_be_misread(&draft.state, draft.knowledge, hazard);
    heard.choice.as_deref() == Some(MISREAD) || said && may_be
}

fn safe(draft: &mut Draft<'_>, hazard: &HazardId, heard: &Heard) -> bool {
    if is_misread(draft, hazard, heard) {
        draft.say(Line::Plain(wording::step::MISREAD.to_owned()));
        draft.record(Event::HazardCleared(hazard.clone()));
        return true;
    }
    match heard.means {
        Some(Means::Yes) => {
            draft.record(Event::HazardCleared(hazard.clone()));
            let then = draft
                .knowledge
                .hazards
                .get(hazard)
                .map(|hazard| hazard.then);
            if then == Some(HazardEnd::Shop) && draft.state.end.is_none() {
                draft.record(Event::HandedOver(HandOver::Hazard(hazard.clone())));
            }
            true
        }
        Some(Means::No | Means::Unsure | Means::Cannot | Means::Skip) => true,
        _ => false,
    }
}

fn observe(draft: &mut Draft<'_>, step: &Step, heard: &Heard) -> bool {
    let reason = match heard.means {
        Some(Means::Cannot) => Declined::Cannot,
        Some(Means::Skip) => Declined::Skipped,
        Some(Means::Unsure) => Declined::Unsure,
        _ => return false,
    };
    for target in targets(step) {
        if !answered_now(draft, &target) {
            draft.record(Event::Declined { target, reason });
        }
    }
    true
}

/// Whether this very message has brought the result already.
fn answered_now(draft: &Draft<'_>, target: &Target) -> bool {
    draft.events.iter().any(|event| match (event, target) {
        (Event::Found(found), Target::Observation(id)) => found.observation == *id,
        _ => false,
    })
}

fn repair(draft: &mut Draft<'_>, fault: &FaultId, heard: &Heard) -> bool {
    let reason = match heard.means {
        Some(Means::Done | Means::Yes) => {
            work::repaired(draft, fault);
            return true;
        }
        // "No" to "tell me when it is done" says that it is not done yet.
        Some(Means::No) => return true,
        Some(Means::Cannot) => Declined::Cannot,
        Some(Means::Skip) => Declined::Skipped,
        Some(Means::Unsure) => Declined::Unsure,
        _ => return false,
    };
    draft.record(Event::Declined {
        target: Target::Repair(fault.clone()),
        reason,
    });
    true
}

fn prove(draft: &mut Draft<'_>, fault: &FaultId, heard: &Heard) -> bool {
    if heard.choice.as_deref() == Some(LEAKS) {
        let leak = draft.knowledge.proof.leak.clone();
        draft.record(Event::HazardRaised(leak));
        return true;
    }
    match heard.means {
        Some(Means::Yes) => {
            work::proved(draft, fault, true);
            proof_result(draft, COMPLAINT_GONE);
        }
        Some(Means::No) => {
            work::proved(draft, fault, false);
            proof_result(draft, COMPLAINT_THERE);
            draft.say(Line::Plain(wording::step::GOES_ON.to_owned()));
        }
        Some(Means::Cannot | Means::Unsure | Means::Skip) => {
            unproven(draft, &Target::Proof(fault.clone()));
        }
        _ => return false,
    }
    true
}

fn proof_result(draft: &mut Draft<'_>, outcome: &str) {
    draft.record(Event::Found(super::event::Found {
        observation: COMPLAINT.into(),
        weights: vec![(OutcomeId::from(outcome), 1.0)],
        strength: 1.0,
        measured: None,
        asked: true,
    }));
}

fn refit(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    match heard.means {
        Some(Means::Done | Means::Yes) => {
            let ending = if draft.state.gone {
                Ending::Solved
            } else {
                Ending::Stopped
            };
            draft.record(Event::Refitted);
            draft.record(Event::Closed(ending));
            true
        }
        Some(Means::Cannot) => {
            draft.record(Event::HandedOver(HandOver::Asked));
            true
        }
        Some(Means::No | Means::Skip | Means::Unsure) => true,
        _ => false,
    }
}
