//! What a step asks for, in lines: questions, checks, repairs, the trial, the refit, the end.

use super::agenda::Agenda;
use super::condition::asked_alone;
use super::draft::Draft;
use super::event::{Event, Query, Step, Target, Topic};
use super::explain;
use super::gates::{demands, open_checklist};
use super::insight::Insight;
use super::state::{End, Entry, State};
use crate::knowledge::Knowledge;
use crate::knowledge::id::{FaultId, ObservationId, OpeningId};
use crate::knowledge::model::Model;
use crate::knowledge::schema;
use crate::quantity::Kind;
use crate::reply::{Line, wording};

/// What the step asks for, in reading order.
#[must_use]
pub fn lines(
    state: &State,
    knowledge: &Knowledge,
    agenda: &Agenda,
    insight: Option<&Insight<'_>>,
) -> Vec<Line> {
    match &agenda.step {
        Step::Tell(topic) => tell(state, knowledge, *topic),
        Step::Surroundings => surroundings(state, knowledge),
        Step::Clear { gates, target } => {
            let lines = gates
                .iter()
                .filter_map(|gate| knowledge.gate(gate))
                .map(|gate| gate.holds.clone());
            wording::step::clear(&name(knowledge, target), lines.collect())
        }
        Step::Safe(hazard) => {
            let question = knowledge
                .hazards
                .get(hazard)
                .map(|hazard| Line::Question(hazard.over.clone()));
            question.into_iter().collect()
        }
        Step::Observe(ids) => observe(state, knowledge, ids),
        Step::Repair(fault) => repair(state, knowledge, fault, insight),
        Step::Prove(fault) => prove(state, knowledge, fault, insight),
        Step::Refit => wording::step::refit(refit_list(state, knowledge)),
        Step::HandOver(reason) => {
            let mut lines = vec![Line::Instruction(wording::explain::why_hand_over(
                knowledge, reason,
            ))];
            if just_ended(state) {
                lines.extend(report(state, knowledge, insight));
            }
            lines
        }
        Step::Stop => ending(state, knowledge),
    }
}

fn tell(state: &State, knowledge: &Knowledge, topic: Topic) -> Vec<Line> {
    match topic {
        Topic::Complaint => {
            let ask = if state.heard_since_start() {
                wording::step::ASK_COMPLAINT_PRECISELY
            } else {
                wording::step::ASK_COMPLAINT
            };
            vec![Line::Question(ask.to_owned())]
        }
        Topic::Background => vec![Line::Question(wording::step::ASK_BACKGROUND.to_owned())],
        Topic::System => {
            let systems = knowledge.systems.values();
            let tells = systems.map(|system| format!("{}: {}", system.name, system.tell));
            let look = state.query == Some(Query::Closer);
            wording::step::which_system(look, tells.collect())
        }
        Topic::Kit => vec![Line::Question(wording::step::ASK_KIT.to_owned())],
    }
}

fn surroundings(state: &State, knowledge: &Knowledge) -> Vec<Line> {
    let open = open_checklist(state, knowledge).into_iter();
    let mut holds: Vec<String> = open.map(|gate| gate.holds.clone()).collect();
    if asked_alone(state, knowledge).is_some() {
        holds.truncate(1);
        wording::step::one_condition(holds)
    } else if state.query == Some(Query::Closer) {
        wording::step::which_condition(holds)
    } else {
        wording::step::surroundings(holds)
    }
}

fn name(knowledge: &Knowledge, target: &Target) -> String {
    let check = |id: &ObservationId| {
        knowledge
            .observations
            .get(id)
            .map(|check| check.name.clone())
    };
    let fault = |id: &FaultId| {
        knowledge
            .faults
            .get(id)
            .map(|fault| fault.repair.what.clone())
    };
    match target {
        Target::Observation(id) => check(id),
        Target::Repair(id) => fault(id),
        Target::Proof(_) => None,
    }
    .unwrap_or_else(|| wording::step::THE_TRIAL.to_owned())
}

fn observe(state: &State, knowledge: &Knowledge, ids: &[ObservationId]) -> Vec<Line> {
    let mut lines = Vec::new();
    if let Some(Query::Repeat(_)) = state.query {
        lines.push(Line::Plain(wording::step::REPEAT.to_owned()));
    }
    if ids.len() > 1 {
        lines.push(Line::Plain(wording::step::together(ids.len())));
    }
    for id in ids {
        match knowledge.observations.get(id) {
            Some(check) => lines.extend(instruct(state, knowledge, check)),
            None => lines.extend(plain_question(knowledge, id).map(Line::Question)),
        }
    }
    lines
}

fn plain_question(knowledge: &Knowledge, id: &ObservationId) -> Option<String> {
    let symptom = knowledge
        .symptoms
        .get(id)
        .map(|symptom| symptom.ask.clone());
    symptom.or_else(|| knowledge.history.get(id).map(|history| history.ask.clone()))
}

fn instruct(state: &State, knowledge: &Knowledge, check: &schema::Observation) -> Vec<Line> {
    let target = Target::Observation(check.id.clone());
    let mut steps = opening_steps(knowledge, &demands(state, knowledge, &target).openings);
    steps.extend(check.meter.as_deref().map(wording::step::meter));
    if check.quantity == Some(Kind::Resistance) && state.leads.is_none() {
        steps.push(wording::step::READ_LEADS.to_owned());
    }
    steps.extend(check.how.iter().cloned());
    if steps.is_empty() {
        return vec![Line::Question(check.ask.clone())];
    }
    vec![
        Line::Instruction(check.name.clone()),
        Line::Steps(steps),
        Line::Question(check.ask.clone()),
    ]
}

fn opening_steps(knowledge: &Knowledge, openings: &[OpeningId]) -> Vec<String> {
    let openings = openings.iter().filter_map(|id| knowledge.openings.get(id));
    openings.map(|opening| opening.how.clone()).collect()
}

fn repair(
    state: &State,
    knowledge: &Knowledge,
    id: &FaultId,
    insight: Option<&Insight<'_>>,
) -> Vec<Line> {
    let Some(fault) = knowledge.faults.get(id) else {
        return Vec::new();
    };
    let target = Target::Repair(id.clone());
    let mut steps = opening_steps(knowledge, &demands(state, knowledge, &target).openings);
    steps.extend(fault.repair.steps.iter().cloned());
    let probability = insight.and_then(|insight| {
        Some(
            insight
                .belief
                .present_now(insight.model.fault(id.as_str())?),
        )
    });
    wording::step::repair(fault, probability, steps)
}

fn prove(
    state: &State,
    knowledge: &Knowledge,
    fault: &FaultId,
    insight: Option<&Insight<'_>>,
) -> Vec<Line> {
    let back = back_for_the_trial(state, knowledge, fault);
    let mut steps: Vec<String> = knowledge.proof.steps.clone();
    let failed = insight.and_then(|insight| failed(state, insight.model, fault));
    if let Some((id, normal)) = failed
        && let Some(check) = knowledge.observations.get(&id)
    {
        steps.insert(
            steps.len().min(1),
            wording::step::repeat_check(&check.name, &normal),
        );
    }
    let back = wording::step::back_for_the_trial(&back).map(Line::Plain);
    let trial = [
        Line::Instruction(wording::step::PROVE.to_owned()),
        Line::Steps(steps),
        Line::Question(knowledge.proof.ask.clone()),
    ];
    back.into_iter().chain(trial).collect()
}

/// The last check that pointed at the fault, and what it shows on a sound bike.
fn failed(state: &State, model: &Model, fault: &FaultId) -> Option<(ObservationId, String)> {
    let fault = model.fault(fault.as_str())?;
    state.entries.iter().rev().find_map(|entry| {
        let Entry::Seen(found) = entry else {
            return None;
        };
        if !found.asked || !explain::points_at(found, model, fault)? {
            return None;
        }
        let at = model.observation(found.observation.as_str())?;
        let observation = &model.observations[at.at()];
        let chances = observation.normal.iter().zip(&observation.outcomes);
        let normal = chances.max_by(|a, b| a.0.total_cmp(b.0))?.1;
        Some((found.observation.clone(), normal.words.clone()))
    })
}

/// What must be back before the engine is run: the lines of the repair, then what stands open.
fn back_for_the_trial(state: &State, knowledge: &Knowledge, fault: &FaultId) -> Vec<String> {
    let repair = knowledge.faults.get(fault).map(|fault| &fault.repair.refit);
    let open = open_inner_first(state, knowledge);
    let open = open.into_iter().filter(|opening| opening.before_running);
    let repair = repair.into_iter().flatten().cloned();
    let mut lines: Vec<String> = Vec::new();
    for line in repair.chain(open.map(|opening| opening.refit.clone())) {
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

/// What stands open, inner openings first.
fn open_inner_first<'a>(state: &State, knowledge: &'a Knowledge) -> Vec<&'a schema::Opening> {
    let depth = |opening: &&'a schema::Opening| {
        let parent =
            |opening: &&'a schema::Opening| knowledge.openings.get(opening.parent.as_ref()?);
        std::iter::successors(Some(*opening), parent)
            .take(knowledge.openings.len())
            .count()
    };
    let open = state.open.iter();
    let mut open: Vec<_> = open.filter_map(|id| knowledge.openings.get(id)).collect();
    open.sort_by_key(|opening| std::cmp::Reverse(depth(opening)));
    open
}

/// What must go back on: the lines of repairs, what stands open, and the lines of every refit.
fn refit_list(state: &State, knowledge: &Knowledge) -> Vec<String> {
    let repairs = state
        .repaired
        .iter()
        .filter_map(|id| knowledge.faults.get(id));
    let open = open_inner_first(state, knowledge);
    repairs
        .flat_map(|fault| fault.repair.refit.iter().cloned())
        .chain(open.into_iter().map(|opening| opening.refit.clone()))
        .chain(knowledge.proof.refit.iter().cloned())
        .collect()
}

/// Whether a person took over in this very turn; what was said then is not said again.
fn just_ended(state: &State) -> bool {
    let now = state.log().iter().rev();
    now.take_while(|logged| logged.turn == state.turn)
        .any(|logged| matches!(logged.event, Event::HandedOver(_)))
}

/// What a person needs to know who takes over.
fn report(state: &State, knowledge: &Knowledge, insight: Option<&Insight<'_>>) -> Vec<Line> {
    if !explain::needs_report(state.end.as_ref()) {
        return Vec::new();
    }
    let mut draft = Draft::opening(knowledge);
    draft.state = state.clone();
    explain::summary(&mut draft, insight);
    let mut lines = draft.lines;
    if !state.open.is_empty() {
        lines.push(Line::Plain(wording::step::STILL_OPEN.to_owned()));
        lines.push(Line::Steps(refit_list(state, knowledge)));
    }
    lines.push(Line::Caution(wording::step::DO_NOT_RIDE.to_owned()));
    lines
}

fn ending(state: &State, knowledge: &Knowledge) -> Vec<Line> {
    let name = |id: &FaultId| knowledge.faults.get(id).map(|fault| fault.name.clone());
    let repaired: Vec<String> = state.repaired.iter().filter_map(name).collect();
    let ending = match &state.end {
        Some(End::Closed(ending)) => Some(ending),
        Some(End::HandedOver(_)) | None => None,
    };
    wording::step::ending(ending, &repaired, state.minutes)
}
