//! What came of a turn, reduced to what a volunteer would want to know has changed.

use crate::conversation::event::{
    Declined, Event, Found, HandOver, Query, Shown, Step as Asked, Target,
};
use crate::knowledge::id::{GateId, HazardId};
use crate::reply::{NextKind, Phase, Reply};
use serde::{Deserialize, Serialize};
use std::fmt::Write as _;

/// What a rider is asked to do.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// What sort of thing.
    pub kind: NextKind,
    /// Which.
    pub id: Option<String>,
}

/// What came of a turn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Came {
    /// The phase after it.
    pub phase: Phase,
    /// The step asked for.
    pub step: Step,
    /// Conditions to be confirmed before it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub gates: Vec<GateId>,
    /// What was understood.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub understood: Vec<String>,
    /// Readings with their verdicts.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub verdicts: Vec<String>,
    /// Dangers open after it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hazards: Vec<HazardId>,
}

impl Came {
    /// What came of a turn with these events and this reply.
    #[must_use]
    pub fn of<'e>(events: impl Iterator<Item = &'e Event> + Clone, reply: &Reply) -> Self {
        let asked = events.clone().filter_map(|event| match event {
            Event::Asked(Asked::Clear { gates, .. }) => Some(gates.clone()),
            _ => None,
        });
        Self {
            phase: reply.phase,
            step: step_of(reply),
            gates: asked.last().unwrap_or_default(),
            understood: events.filter_map(understood).collect(),
            verdicts: verdicts(reply),
            hazards: reply.hazards.clone(),
        }
    }
}

/// The step a reply asks for.
#[must_use]
pub fn step_of(reply: &Reply) -> Step {
    Step {
        kind: reply.step.kind,
        id: reply.step.id.clone(),
    }
}

/// Readings judged in a reply, each with its likeliest outcome.
#[must_use]
pub fn verdicts(reply: &Reply) -> Vec<String> {
    let judged = reply.judgements.iter();
    judged
        .map(|judged| {
            let best = judged.weights.iter().max_by(|a, b| a.1.total_cmp(&b.1));
            let best = best.map_or("nothing", |(outcome, _)| outcome.as_str());
            format!("{} = {best}", judged.observation)
        })
        .collect()
}

/// What an event says was understood, in ids; none for what the conversation did by itself.
#[must_use]
pub fn understood(event: &Event) -> Option<String> {
    let yes_no = |yes: &bool| if *yes { "yes" } else { "no" };
    Some(match event {
        Event::Found(found) => found_words(found),
        Event::LeadsRead(shown) => format!("bare leads: {}", shown_words(shown)),
        Event::MeterTold(told) => {
            format!("meter: {} of reading, {} digits", told.gain, told.digits)
        }
        Event::SpecTold(spec) => {
            let bound = |bound: Option<f64>| bound.map_or("open".to_owned(), |b| b.to_string());
            let (low, high) = (bound(spec.low), bound(spec.high));
            format!("spec of {}: {low} to {high}", spec.observation)
        }
        Event::PowerTold(watts) => format!("power: {watts} W"),
        Event::SystemTold(system) => format!("system: {system}"),
        Event::KitTold { kit, has } => format!("has {kit}: {}", yes_no(has)),
        Event::HazardRaised(hazard) => format!("danger: {hazard}"),
        Event::HazardCleared(hazard) => format!("danger over: {hazard}"),
        Event::GateAnswered { gate, holds } => format!("{gate}: {}", yes_no(holds)),
        Event::Declined { target, reason } => {
            format!("{}: {}", declined_word(*reason), target_words(target))
        }
        Event::Queried(Query::Reading {
            observation,
            measured,
            ..
        }) => format!("asked back: {observation}, {}", shown_words(&measured.raw)),
        Event::Repaired(fault) => format!("repaired: {fault}"),
        Event::Proved { gone, .. } => format!("complaint gone: {}", yes_no(gone)),
        Event::Refitted => "everything is back on".to_owned(),
        Event::Stopping => "wants to stop".to_owned(),
        Event::Undone(turn) => format!("takes turn {turn} back"),
        Event::StartedOver => "starts over".to_owned(),
        Event::HandedOver(why) => format!("handed over: {}", hand_over_words(why)),
        Event::Closed(ending) => format!("closed: {ending:?}").to_lowercase(),
        Event::Consented(yes) => format!("volunteers may read: {}", yes_no(yes)),
        Event::Opened(_)
        | Event::Heard(_)
        | Event::Settled(_)
        | Event::GateReopened(_)
        | Event::Reconsidered
        | Event::Asked(_)
        | Event::Queried(Query::Repeat(_) | Query::Closer)
        | Event::AccessOpened(_)
        | Event::Spent(_)
        | Event::ForgetAsked
        | Event::Nudged
        | Event::Rested
        | Event::ConsentAsked
        | Event::Corrected(_)
        | Event::Confirmed(_) => return None,
    })
}

fn declined_word(reason: Declined) -> &'static str {
    match reason {
        Declined::Cannot => "cannot",
        Declined::Skipped => "skipped",
        Declined::Unsure => "unsure",
        Declined::Gated => "a condition does not hold",
    }
}

fn target_words(target: &Target) -> String {
    match target {
        Target::Observation(observation) => observation.to_string(),
        Target::Repair(fault) => format!("repair of {fault}"),
        Target::Proof(fault) => format!("proof after the repair of {fault}"),
    }
}

fn hand_over_words(why: &HandOver) -> String {
    match why {
        HandOver::Asked => "asked".to_owned(),
        HandOver::ShopOnly(fault) => format!("only a shop may repair {fault}"),
        HandOver::NotWorth => "nothing is worth its minutes any more".to_owned(),
        HandOver::Unexplained => "nothing known explains it".to_owned(),
        HandOver::Hazard(hazard) => format!("only a shop may settle {hazard}"),
        HandOver::UnknownSystem => "the system is not known".to_owned(),
    }
}

fn found_words(found: &Found) -> String {
    let best = found.weights.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    let best = best.map_or("nothing", |(outcome, _)| outcome.as_str());
    let mut words = format!("{} = {best}", found.observation);
    if found.strength < 1.0 {
        write!(words, ", strength {:.2}", found.strength).expect("a string takes all");
    }
    if let Some(measured) = &found.measured {
        write!(words, ", from {}", shown_words(&measured.raw)).expect("a string takes all");
    }
    words
}

fn shown_words(shown: &Shown) -> String {
    let unit = shown.quantity.unit();
    match (shown.value, shown.low, shown.high) {
        (Some(value), ..) => format!("{value} {unit}"),
        (None, Some(low), Some(high)) => format!("{low} to {high} {unit}"),
        (None, Some(low), None) => format!("over {low} {unit}"),
        (None, None, Some(high)) => format!("under {high} {unit}"),
        (None, None, None) => "a display that is no number".to_owned(),
    }
}
