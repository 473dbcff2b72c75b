//! What the rider may pick at this point: the same list is shown and understood.

use super::condition;
use super::doubt;
use super::event::{Event, Found, Incoming, Query, Step, Target, Topic};
use super::gates;
use super::state::State;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{HazardId, ObservationId};
use crate::knowledge::model::{Model, Observation, ObservationKind};
use crate::knowledge::schema;
use crate::reply::wording::choice as words;
use crate::reply::{Ask, Choice, Means};

/// Prefix of a choice that denies one condition of the checklist.
pub const NOT: &str = "not-";
/// Choice: everything on the kit list is at hand.
pub const KIT_ALL: &str = "kit-all";
/// Choice: nothing on the kit list is at hand.
pub const KIT_NONE: &str = "kit-none";
/// Prefix of a choice that says that something is at hand.
pub const HAS: &str = "has-";
/// Choice: something is wet after a repair.
pub const LEAKS: &str = "leaks";
/// Choice: there is no such danger.
pub const MISREAD: &str = "misread";
/// Choice: begin again.
pub const START_OVER: &str = "start-over";
/// Request: erase everything of the rider.
pub const FORGET: &str = "forget";
/// Choice: look at the surroundings again.
pub const READY: &str = "ready";
/// Choice: a person is wanted.
pub const PERSON: &str = "person";

/// The choices of a state, besides the outcomes of what is asked for.
#[must_use]
pub fn menu(state: &State, knowledge: &Knowledge) -> Vec<Choice> {
    let Some(step) = &state.table else {
        return Vec::new();
    };
    let mut menu = own(state, knowledge, step);
    menu.extend(always(state, knowledge, step));
    menu
}

fn own(state: &State, knowledge: &Knowledge, step: &Step) -> Vec<Choice> {
    if let Some(choices) = doubt::choices(state, knowledge) {
        return choices;
    }
    match step {
        Step::Tell(topic) => tell(state, knowledge, *topic),
        Step::Surroundings => checklist(state, knowledge),
        Step::Clear { .. } => vec![yes(words::ALL_SO), no(words::NOT_SO)],
        Step::Safe(hazard) => {
            let misread = choice(MISREAD, words::MISREAD, Means::Other);
            let misread = may_be_misread(state, knowledge, hazard).then_some(misread);
            let answers = [yes(words::IT_IS_OVER), no(words::NOT_OVER)];
            answers.into_iter().chain(misread).collect()
        }
        Step::Observe(_) => vec![unsure(), cannot(), skip()],
        Step::Repair(_) => vec![done(words::REPAIRED), cannot(), skip()],
        Step::Prove(_) => vec![
            yes(words::GONE_AND_DRY),
            no(words::STILL_THERE),
            choice(LEAKS, words::LEAKS, Means::Other),
            cannot(),
        ],
        Step::Refit => vec![done(words::ALL_BACK), no(words::NOT_BACK_YET)],
        Step::HandOver(_) | Step::Stop => {
            vec![choice(START_OVER, words::START_OVER, Means::Other)]
        }
    }
}

/// Whether a danger was read into words: one that was picked, or that the result of what was asked for shows, is
/// no misreading.
#[must_use]
pub fn may_be_misread(state: &State, knowledge: &Knowledge, hazard: &HazardId) -> bool {
    let raised = Event::HazardRaised(hazard.clone());
    let mut log = state.log().iter().rev();
    let Some(raised) = log.find(|logged| logged.event == raised) else {
        return false;
    };
    let turn = state.log().iter();
    let mut turn = turn.filter(|logged| logged.turn == raised.turn);
    let typed = |event: &Event| matches!(event, Event::Heard(Incoming::Text(_)));
    let shows = |event: &Event| match event {
        Event::Found(found) => found.asked && reveals(knowledge, found, hazard),
        _ => false,
    };
    turn.clone().any(|logged| typed(&logged.event)) && !turn.any(|logged| shows(&logged.event))
}

/// Whether a result shows a danger.
fn reveals(knowledge: &Knowledge, found: &Found, hazard: &HazardId) -> bool {
    let check = knowledge.observations.get(&found.observation);
    let mut outcomes = check.into_iter().flat_map(|check| &check.outcome);
    outcomes.any(|outcome| {
        let came = found.weights.iter().any(|(id, _)| *id == outcome.id);
        came && outcome.hazard.as_ref() == Some(hazard)
    })
}

/// The conditions one by one only once the rider has said that not all hold: a list of ten denials
/// is no kind first sight.
fn checklist(state: &State, knowledge: &Knowledge) -> Vec<Choice> {
    if condition::asked_alone(state, knowledge).is_some() {
        return vec![yes(words::IT_IS_SO), no(words::NOT_SO), unsure()];
    }
    if state.query != Some(Query::Closer) {
        return vec![yes(words::ALL_SO), no(words::NOT_ALL)];
    }
    let open = gates::open_checklist(state, knowledge).into_iter();
    let denials = open.map(|gate| {
        let id = format!("{NOT}{}", gate.id);
        choice(&id, words::not_so(&gate.holds), Means::Other)
    });
    [yes(words::REST_SO), no(words::NONE_SO)]
        .into_iter()
        .chain(denials)
        .collect()
}

fn tell(state: &State, knowledge: &Knowledge, topic: Topic) -> Vec<Choice> {
    match topic {
        Topic::Complaint => {
            let offered = knowledge.symptoms.values().filter(|symptom| symptom.offer);
            let symptom =
                |id: &ObservationId, words: &str| choice(&format!("{id}-yes"), words, Means::Other);
            offered
                .map(|item| symptom(&item.id, &item.words))
                .chain([unsure()])
                .collect()
        }
        Topic::Background => {
            let history = knowledge.history.values();
            let happened =
                history.map(|item| choice(&format!("{}-yes", item.id), &item.words, Means::Other));
            happened
                .chain([no(words::NOTHING_CHANGED), unsure()])
                .collect()
        }
        Topic::System => {
            let systems = knowledge.systems.values();
            let system = systems.map(|item| choice(item.id.as_str(), &item.name, Means::Other));
            system.chain([unsure()]).collect()
        }
        Topic::Kit => {
            let each = useful_kit(state, knowledge);
            let each = each.map(|kit| choice(&format!("{HAS}{}", kit.id), &kit.name, Means::Other));
            let all = [
                choice(KIT_ALL, words::KIT_ALL, Means::Yes),
                choice(KIT_NONE, words::KIT_NONE, Means::No),
            ];
            all.into_iter().chain(each).collect()
        }
    }
}

/// The kit that the checks of the rider's system call for and that nobody has spoken of.
pub fn useful_kit<'a>(
    state: &'a State,
    knowledge: &'a Knowledge,
) -> impl Iterator<Item = &'a schema::Kit> {
    let model = state
        .system
        .as_ref()
        .and_then(|system| knowledge.model(system));
    knowledge.kit.iter().filter(move |kit| {
        let used = |model: &Model| {
            model
                .observations
                .iter()
                .any(|seen| seen.kit.contains(&kit.id))
        };
        !state.kit.contains_key(&kit.id) && model.is_none_or(used)
    })
}

/// What can be picked whatever is on the table.
fn always(state: &State, knowledge: &Knowledge, step: &Step) -> Vec<Choice> {
    let mut always = Vec::new();
    let ended = matches!(step, Step::HandOver(_) | Step::Stop);
    let kept = doubt::pending(state, knowledge).is_some();
    if kept || matches!(step, Step::Observe(_) | Step::Repair(_)) {
        always.push(choice("why", words::WHY, Means::Why));
        if !gates::denied(state, knowledge).is_empty() {
            always.push(choice(READY, words::READY, Means::Other));
        }
    }
    if state.last_undoable().is_some() {
        always.push(choice("undo", words::UNDO, Means::Undo));
    }
    if !ended {
        always.push(choice(PERSON, words::PERSON, Means::Other));
        always.push(choice("stop", words::STOP, Means::Stop));
    }
    always
}

/// What is asked for, with the results it can have.
#[must_use]
pub fn asks(state: &State, knowledge: &Knowledge) -> Vec<Ask> {
    let Some(Step::Observe(ids)) = &state.table else {
        return Vec::new();
    };
    let model = state
        .system
        .as_ref()
        .and_then(|system| knowledge.model(system));
    let ask = |id: &ObservationId| {
        let model = model?;
        Some(ask(
            &model.observations[model.observation(id.as_str())?.at()]
        ))
    };
    ids.iter().filter_map(ask).collect()
}

fn ask(observation: &Observation) -> Ask {
    let kind = match observation.kind {
        ObservationKind::Measurement => ObservationKind::Measurement,
        _ => ObservationKind::Choice,
    };
    let outcomes = observation.outcomes.iter();
    Ask {
        observation: observation.id.clone(),
        kind,
        quantity: observation.quantity,
        outcomes: outcomes
            .map(|outcome| (outcome.id.clone(), outcome.words.clone()))
            .collect(),
    }
}

/// The targets of the step on the table.
#[must_use]
pub fn targets(step: &Step) -> Vec<Target> {
    match step {
        Step::Observe(ids) => ids.iter().cloned().map(Target::Observation).collect(),
        Step::Repair(fault) => vec![Target::Repair(fault.clone())],
        Step::Prove(fault) => vec![Target::Proof(fault.clone())],
        Step::Clear { target, .. } => vec![target.clone()],
        Step::Tell(_)
        | Step::Surroundings
        | Step::Safe(_)
        | Step::Refit
        | Step::HandOver(_)
        | Step::Stop => Vec::new(),
    }
}

fn choice(id: &str, words: impl Into<String>, means: Means) -> Choice {
    Choice {
        id: id.to_owned(),
        words: words.into(),
        means,
    }
}

fn yes(words: &str) -> Choice {
    choice("yes", words, Means::Yes)
}

fn no(words: &str) -> Choice {
    choice("no", words, Means::No)
}

fn done(words: &str) -> Choice {
    choice("done", words, Means::Done)
}

fn cannot() -> Choice {
    choice("cannot", words::CANNOT, Means::Cannot)
}

fn unsure() -> Choice {
    choice("unsure", words::UNSURE, Means::Unsure)
}

fn skip() -> Choice {
    choice("skip", words::SKIP, Means::Skip)
}
