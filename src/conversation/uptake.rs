//! Takes in every fact a message holds, asked for or not.

use super::condition::doubted;
use super::draft::Draft;
use super::event::{Event, Found, HandOver, SpecTold, Step};
use super::hear::Heard;
use super::reading::readings;
use crate::knowledge::id::{FaultId, ObservationId, OutcomeId};
use crate::knowledge::{Knowledge, schema};
use crate::language::interpretation::{Observed, Reading, Said, Span, Symptom};
use crate::quantity::{Kind, Nature};
use crate::reply::{Line, wording};

/// Takes in the facts of a message. Returns whether anything was learned.
pub fn facts(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let before = (draft.events.len(), draft.lines.len());
    system_and_kit(draft, heard);
    told_spec(draft, heard);
    symptoms_and_history(draft, heard);
    observations(draft, heard);
    readings(draft, heard);
    doubted(draft, heard);
    (draft.events.len(), draft.lines.len()) != before
}

fn system_and_kit(draft: &mut Draft<'_>, heard: &Heard) {
    if let Some(system) = &heard.said.system
        && draft.state.system.as_ref() != Some(&system.what)
    {
        draft.record(Event::SystemTold(system.what.clone()));
        draft.say(Line::Receipt(wording::receipt::system(
            draft.knowledge,
            &system.what,
        )));
    }
    for said in &heard.said.kit {
        if draft.knowledge.kit(&said.what.id).is_some() {
            let (kit, has) = (said.what.id.clone(), said.what.has);
            draft.say(Line::Receipt(wording::receipt::kit(
                draft.knowledge,
                &kit,
                has,
            )));
            draft.record(Event::KitTold { kit, has });
        }
    }
}

fn told_spec(draft: &mut Draft<'_>, heard: &Heard) {
    let Some(spec) = heard.said.spec.as_ref().map(|said| &said.what) else {
        return;
    };
    let Some(check) = spec_target(draft, spec.quantity) else {
        draft.say(Line::Plain(wording::receipt::SPEC_OF_WHAT.to_owned()));
        return;
    };
    let celsius = spec_celsius(heard).filter(|_| check.nature == Some(Nature::Copper));
    draft.say(Line::Receipt(wording::receipt::spec(
        check,
        (spec.low, spec.high),
        celsius,
    )));
    draft.record(Event::SpecTold(SpecTold {
        observation: check.id.clone(),
        low: spec.low,
        high: spec.high,
        celsius,
    }));
}

/// The temperature named beside a spec: "1.2 to 1.8 ohm at 20 C".
#[must_use]
pub fn spec_celsius(heard: &Heard) -> Option<f64> {
    heard.said.spec.as_ref()?.what.celsius
}

/// What a spec belongs to: the reading kept back or asked for, the last one judged, or the only
/// winding or only check of that quantity that has a range.
fn spec_target<'a>(draft: &Draft<'a>, quantity: Kind) -> Option<&'a schema::Observation> {
    let knowledge = draft.knowledge;
    let fits = |check: &&schema::Observation| {
        check.quantity == Some(quantity)
            && check.outcome.iter().any(|outcome| outcome.side.is_some())
            && belongs(draft, &check.id)
    };
    let named = |id: &ObservationId| knowledge.observations.get(id).filter(fits);
    let kept = draft
        .state
        .query
        .as_ref()
        .and_then(super::event::Query::about);
    let kept = kept.and_then(named);
    let asked = || asked(draft).iter().find_map(named);
    let judged = || {
        let seen = draft.state.entries.iter().rev();
        let mut seen = seen.filter_map(|entry| match entry {
            super::state::Entry::Seen(found) => found.measured.as_ref().map(|_| &found.observation),
            super::state::Entry::Repaired(_) => None,
        });
        seen.find_map(named)
    };
    let only = |of_copper: bool| {
        let all = knowledge.observations.values().filter(fits);
        let mut all = all.filter(|check| !of_copper || check.nature == Some(Nature::Copper));
        all.next().filter(|_| all.next().is_none())
    };
    kept.or_else(asked)
        .or_else(judged)
        .or_else(|| only(true))
        .or_else(|| only(false))
}

/// The observations on the table.
#[must_use]
pub fn asked(draft: &Draft<'_>) -> Vec<ObservationId> {
    match &draft.state.table {
        Some(Step::Observe(ids)) => ids.clone(),
        _ => Vec::new(),
    }
}

fn symptoms_and_history(draft: &mut Draft<'_>, heard: &Heard) {
    for said in &heard.said.symptoms {
        if told_as_check(draft, heard, said) || !belongs(draft, &said.what.id) {
            continue;
        }
        if said.what.present {
            gates_ended(draft, &said.what.id);
        }
        if let Some(symptom) = draft.knowledge.symptoms.get(&said.what.id) {
            let words = wording::receipt::symptom(symptom, said.what.present);
            let complaint = Said {
                what: said.what.id.clone(),
                span: said.span.clone(),
                strength: said.strength,
            };
            yes_no(draft, complaint, said.what.present, words);
        }
    }
    for said in &heard.said.history {
        if let Some(history) = draft.knowledge.history.get(&said.what) {
            let words = wording::receipt::history(&history.words);
            yes_no(draft, said.clone(), true, words);
        }
    }
}

/// What was confirmed no longer holds where a complaint says otherwise.
fn gates_ended(draft: &mut Draft<'_>, complaint: &ObservationId) {
    let ended = |gate: &&schema::Gate| gate.ended_by_complaint.contains(complaint);
    for gate in draft.knowledge.gates.iter().filter(ended) {
        draft.record(Event::GateReopened(gate.id.clone()));
    }
}

/// The same words may name a complaint and the result of a check; only the check counts then. What a
/// sound bike shows as well, "cranks strong" in "cranks strong but won't start", names no complaint.
fn told_as_check(draft: &Draft<'_>, heard: &Heard, symptom: &Said<Symptom>) -> bool {
    heard.said.observations.iter().any(|check| {
        let within =
            |inner: &Span, outer: &Span| outer.start <= inner.start && inner.end <= outer.end;
        let same_words = within(&check.span, &symptom.span) || within(&symptom.span, &check.span);
        same_words && belongs(draft, &check.what.id) && !usual(draft.knowledge, &check.what)
    })
}

/// Whether most sound bikes show this result too.
fn usual(knowledge: &Knowledge, result: &Observed) -> bool {
    let check = knowledge.observations.get(&result.id);
    let mut outcomes = check.into_iter().flat_map(|check| &check.outcome);
    outcomes.any(|outcome| outcome.id == result.outcome && outcome.normal > 0.5)
}

/// Whether the rider's system knows that observation; all do while the system is unknown.
#[must_use]
pub fn belongs(draft: &Draft<'_>, id: &ObservationId) -> bool {
    let model = draft
        .state
        .system
        .as_ref()
        .and_then(|system| draft.knowledge.model(system));
    model.is_none_or(|model| model.observation(id.as_str()).is_some())
}

fn yes_no(draft: &mut Draft<'_>, said: Said<ObservationId>, present: bool, words: String) {
    let suffix = if present { "yes" } else { "no" };
    let outcome = OutcomeId::from(format!("{}-{suffix}", said.what).as_str());
    let known = draft.state.found_since_repair(&said.what);
    if known.is_some_and(|found| {
        found.weights == [(outcome.clone(), 1.0)] && found.strength >= said.strength
    }) {
        return;
    }
    draft.say(Line::Receipt(wording::receipt::hedged(
        words,
        said.strength,
    )));
    let asked = asked(draft).contains(&said.what);
    draft.record(Event::Found(Found {
        observation: said.what,
        weights: vec![(outcome, 1.0)],
        strength: said.strength,
        measured: None,
        asked,
    }));
}

/// Results worded or picked, of whatever observation.
fn observations(draft: &mut Draft<'_>, heard: &Heard) {
    let volunteered = heard.said.observations.iter();
    let mut results: Vec<(OutcomeId, f64)> = volunteered
        .map(|said| (said.what.outcome.clone(), said.strength))
        .collect();
    if let Some((outcome, strength)) = &heard.outcome
        && results.iter().all(|(known, _)| known != outcome)
    {
        results.push((outcome.clone(), *strength));
    }
    // One message gives one finding for each check. Where it tells two results, as of before and
    // after, either may be what counts.
    let mut made: Vec<(ObservationId, Vec<OutcomeId>, f64)> = Vec::new();
    for (outcome, strength) in results {
        let Some((id, _)) = draft.knowledge.outcome(&outcome) else {
            continue;
        };
        if is_measured(draft, heard, &id) {
            continue;
        }
        match made.iter_mut().find(|(known, ..)| *known == id) {
            Some((_, outcomes, firmest)) => {
                outcomes.push(outcome);
                *firmest = firmest.max(strength);
            }
            None => made.push((id, vec![outcome], strength)),
        }
    }
    for (_, outcomes, strength) in made {
        either(draft, &outcomes, strength);
    }
}

/// Whether the message gives the number of a check that is measured: then the number is judged, and not what
/// its words would come to.
fn is_measured(draft: &Draft<'_>, heard: &Heard, id: &ObservationId) -> bool {
    let check = draft.knowledge.observations.get(id);
    let numbered = |check: &schema::Observation| {
        let mut readings = heard.said.readings.iter().map(|said| &said.what);
        readings.any(|reading| {
            let named = reading.of.as_ref().is_some_and(|of| check.of.contains(of));
            check.quantity == Some(reading.quantity) && named
        })
    };
    check.is_some_and(|check| check.kind == schema::Manner::Measurement && numbered(check))
}

/// Whether the words of a check that is picked tell of a number: "30 shows 12.4 and 87 shows 0.1".
#[must_use]
pub fn in_a_result(draft: &Draft<'_>, heard: &Heard, reading: &Said<Reading>) -> bool {
    heard.said.observations.iter().any(|seen| {
        let check = draft.knowledge.observations.get(&seen.what.id);
        let picked = check.is_some_and(|check| check.kind == schema::Manner::Choice);
        let within = seen.span.start <= reading.span.start && reading.span.end <= seen.span.end;
        picked && within && belongs(draft, &seen.what.id)
    })
}

/// Records that an observation came out in this way.
pub fn result(draft: &mut Draft<'_>, outcome: &OutcomeId, strength: f64) {
    either(draft, std::slice::from_ref(outcome), strength);
}

/// Records that an observation came out in one of these ways, each as likely as the others.
fn either(draft: &mut Draft<'_>, outcomes: &[OutcomeId], strength: f64) {
    let knowledge = draft.knowledge;
    let known = |outcome: &OutcomeId| knowledge.outcome(outcome).map(|(id, _)| id);
    let Some(observation) = outcomes.first().and_then(known) else {
        return;
    };
    if !belongs(draft, &observation) {
        return;
    }
    if !draft.state.hazards.is_empty() && made_safe(knowledge, &observation) {
        draft.say(Line::Plain(wording::receipt::MADE_SAFE.to_owned()));
        return;
    }
    for (_, words) in outcomes.iter().filter_map(|id| knowledge.outcome(id)) {
        draft.say(Line::Receipt(wording::receipt::hedged(words, strength)));
    }
    let asked = asked(draft).contains(&observation);
    let count = u32::try_from(outcomes.len()).unwrap_or(u32::MAX);
    let weight = 1.0 / f64::from(count);
    let found = Found {
        observation,
        weights: outcomes.iter().map(|id| (id.clone(), weight)).collect(),
        strength,
        measured: None,
        asked,
    };
    learn(draft, found);
}

/// Whether the rider changes what the observation looks at when making a danger safe.
fn made_safe(knowledge: &Knowledge, id: &ObservationId) -> bool {
    let check = knowledge.observations.get(id);
    check.is_some_and(|check| check.made_safe)
}

/// Records a finding, the danger it reveals, and the work it took if it was asked for.
pub fn learn(draft: &mut Draft<'_>, found: Found) {
    let (id, asked) = (found.observation.clone(), found.asked);
    let (hazard, shop) = (revealed(draft, &found), shop_only(draft, &found));
    draft.record(Event::Found(found));
    if asked {
        super::work::observed(draft, &id);
    }
    if let Some(hazard) = hazard
        && !draft.state.hazards.contains(&hazard)
    {
        draft.record(Event::HazardRaised(hazard));
    }
    if let Some(fault) = shop.filter(|_| draft.state.end.is_none()) {
        draft.record(Event::HandedOver(HandOver::ShopOnly(fault)));
    }
}

/// The likeliest fault behind a result that ends the work at home.
fn shop_only(draft: &Draft<'_>, found: &Found) -> Option<FaultId> {
    let check = draft.knowledge.observations.get(&found.observation)?;
    let likely = found.weights.iter().filter(|(_, weight)| *weight > 0.5);
    let ends = |id: &OutcomeId| {
        check
            .outcome
            .iter()
            .any(|outcome| outcome.id == *id && outcome.shop)
    };
    let outcome = likely.map(|(id, _)| id).find(|id| ends(id))?;
    let chance = |cause: &&schema::Cause| cause.outcomes.get(outcome).copied().unwrap_or(0.0);
    let cause = check
        .cause
        .iter()
        .max_by(|a, b| chance(a).total_cmp(&chance(b)))?;
    cause.faults.first().cloned()
}

fn revealed(draft: &Draft<'_>, found: &Found) -> Option<crate::knowledge::id::HazardId> {
    let check = draft.knowledge.observations.get(&found.observation)?;
    let told = |weight: f64| found.measured.is_none() || weight > 0.5;
    let likely = found.weights.iter().filter(|(_, weight)| told(*weight));
    likely
        .filter_map(|(id, _)| check.outcome.iter().find(|outcome| outcome.id == *id))
        .find_map(|outcome| outcome.hazard.clone())
}
