//! The reply to a state: what the step asks for, with its cautions, choices and figures.

use super::advice;
use super::agenda::Agenda;
use super::asking;
use super::doubt;
use super::draft::Draft;
use super::event::{Event, Query, Step, Topic};
use super::gates::demands;
use super::insight::Insight;
use super::menu::{asks, menu};
use super::state::{State, heard_in};
use crate::diagnosis::explain;
use crate::knowledge::Knowledge;
use crate::knowledge::id::{CautionId, FaultId, ObservationId};
use crate::knowledge::schema::Hazard;
use crate::reply::{Line, Next, NextKind, Phase, Reply, Suspect};

/// Suspects below this are not worth a name.
const WORTH_NAMING: f64 = 0.01;
/// The most suspects named.
const MOST_SUSPECTS: usize = 6;

/// Puts a turn's reply together.
#[must_use]
pub fn compose(draft: Draft<'_>, agenda: &Agenda, insight: Option<&Insight<'_>>) -> Reply {
    let knowledge = draft.knowledge;
    let state = &draft.state;
    let cautions = cautions(state, knowledge, agenda);
    let mut lines = dangers(&draft);
    let advice = advice::beside(&draft, agenda, insight);
    lines.extend(
        cautions
            .iter()
            .filter_map(|id| knowledge.cautions.get(id))
            .map(|c| Line::Caution(c.text.clone())),
    );
    lines.extend(draft.lines);
    if let Some(question) = doubt::question(state, knowledge) {
        lines.push(Line::Question(question));
    } else {
        lines.extend(advice);
        lines.extend(asking::lines(state, knowledge, agenda, insight));
    }
    Reply {
        turn: state.turn,
        phase: state.phase(),
        lines,
        asks: asks(state, knowledge),
        choices: menu(state, knowledge),
        cautions,
        hazards: state.hazards.clone(),
        judgements: draft.judged,
        suspects: insight.map(suspects).unwrap_or_default(),
        ruled_out: insight.map(ruled_out).unwrap_or_default(),
        conflict: conflict(state),
        step: announced(&agenda.step),
        minutes_spent: state.minutes,
        minutes_left: minutes_left(state, insight),
    }
}

/// The step as the interfaces name it.
fn announced(step: &Step) -> Next {
    let (kind, id) = match step {
        Step::Tell(topic) => (NextKind::Ask, Some(topic_id(*topic).to_owned())),
        Step::Surroundings => (NextKind::Ask, Some("surroundings".to_owned())),
        Step::Clear { gates, .. } => (NextKind::Ask, gates.first().map(ToString::to_string)),
        Step::Safe(hazard) => (NextKind::Ask, Some(hazard.to_string())),
        Step::Observe(ids) => (NextKind::Observe, ids.first().map(ToString::to_string)),
        Step::Repair(fault) => (NextKind::Repair, Some(fault.to_string())),
        Step::Prove(fault) => (NextKind::Prove, Some(fault.to_string())),
        Step::Refit => (NextKind::Refit, None),
        Step::HandOver(_) => (NextKind::Handover, None),
        Step::Stop => (NextKind::Stop, None),
    };
    Next { kind, id }
}

fn topic_id(topic: Topic) -> &'static str {
    match topic {
        Topic::Complaint => "complaint",
        Topic::Background => "background",
        Topic::System => "system",
        Topic::Kit => "kit",
    }
}

fn minutes_left(state: &State, insight: Option<&Insight<'_>>) -> f64 {
    match state.phase() {
        Phase::Closed | Phase::HandedOver => 0.0,
        _ => insight.map_or(0.0, |insight| insight.plan.expected_left_minutes),
    }
}

fn conflict(state: &State) -> Option<ObservationId> {
    match &state.query {
        Some(Query::Repeat(observation)) => Some(observation.clone()),
        _ => None,
    }
}

/// Cautions of whatever the step asks to be done with the hands.
fn cautions(state: &State, knowledge: &Knowledge, agenda: &Agenda) -> Vec<CautionId> {
    let mut cautions: Vec<CautionId> = Vec::new();
    for permit in &agenda.permits {
        for caution in demands(state, knowledge, permit.target()).cautions {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
    }
    cautions
}

/// What to do about the open dangers, worst first: in full when one is reported, the first two lines
/// of each when several are, and one line of each for as long as they stand.
fn dangers(draft: &Draft<'_>) -> Vec<Line> {
    let raised = |event: &&Event| matches!(event, Event::HazardRaised(_));
    let most = match draft.events.iter().filter(raised).count() {
        0 => 1,
        1 => usize::MAX,
        _ => 2,
    };
    let known = &draft.knowledge.hazards;
    let mut hazards: Vec<&Hazard> = draft
        .state
        .hazards
        .iter()
        .filter_map(|id| known.get(id))
        .collect();
    hazards.sort_by_key(|hazard| hazard.rank);
    hazards
        .into_iter()
        .flat_map(|hazard| urgent(&draft.state, hazard).into_iter().take(most))
        .map(|now| Line::Danger(now.clone()))
        .collect()
}

/// What to do now about a danger, first what is about the rider's own words for it.
fn urgent<'a>(state: &State, hazard: &'a Hazard) -> Vec<&'a String> {
    let raised = Event::HazardRaised(hazard.id.clone());
    let mut log = state.log().iter().rev();
    let turn = log.find(|logged| logged.event == raised);
    let told = turn.and_then(|logged| heard_in(state, logged.turn));
    let told = told.unwrap_or_default().to_lowercase();
    let spoken_of = |line: usize| {
        let mut beginnings = hazard
            .about
            .get(line)
            .into_iter()
            .flat_map(|all| all.split(' '));
        beginnings.any(|beginning| {
            let mut words = told.split(|sign: char| !sign.is_alphanumeric());
            words.any(|word| word.starts_with(beginning))
        })
    };
    let (first, rest): (Vec<_>, Vec<_>) = hazard
        .now
        .iter()
        .enumerate()
        .partition(|(line, _)| spoken_of(*line));
    first.into_iter().chain(rest).map(|(_, now)| now).collect()
}

fn suspects(insight: &Insight<'_>) -> Vec<Suspect> {
    let ranked = insight.belief.suspects().into_iter();
    ranked
        .take_while(|(_, probability)| *probability >= WORTH_NAMING)
        .take(MOST_SUSPECTS)
        .map(|(fault, probability)| {
            let fault = &insight.model.faults[fault.at()];
            Suspect {
                fault: fault.id.clone(),
                part: fault.part.clone(),
                probability,
            }
        })
        .collect()
}

fn ruled_out(insight: &Insight<'_>) -> Vec<FaultId> {
    let faults = explain::ruled_out(&insight.belief).into_iter();
    faults
        .map(|out| insight.model.faults[out.fault.at()].id.clone())
        .collect()
}
