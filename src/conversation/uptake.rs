//! Takes in every fact a message holds, asked for or not.

use super::draft::Draft;
use super::event::{Event, Found, HandOver, Measured, Query, Shown, SpecTold, Step};
use super::hear::Heard;
use super::measuring::{self, judgement, shown};
use crate::knowledge::id::{FaultId, ObservationId, OutcomeId};
use crate::knowledge::schema::{self, Manner};
use crate::language::interpretation::{Reading, Said, Symptom};
use crate::quantity::{Judgement, Kind};
use crate::reply::{Line, wording};

/// Takes in the facts of a message. Returns whether anything was learned.
pub fn facts(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let before = draft.events.len();
    system_and_kit(draft, heard);
    told_spec(draft, heard);
    symptoms_and_history(draft, heard);
    observations(draft, heard);
    readings(draft, heard);
    draft.events.len() > before
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
    if let Some(spec) = &heard.said.spec {
        let target = spec_target(draft, spec.what.quantity);
        if let Some(observation) = target {
            draft.say(Line::Receipt(wording::receipt::spec(
                draft.knowledge,
                &observation,
                (spec.what.quantity, spec.what.low, spec.what.high),
            )));
            draft.record(Event::SpecTold(SpecTold {
                observation,
                low: spec.what.low,
                high: spec.what.high,
            }));
        }
    }
}

/// A spec belongs to what is asked for, or to the only observation of that quantity with a spec.
fn spec_target(draft: &Draft<'_>, quantity: Kind) -> Option<ObservationId> {
    let fits = |check: &&schema::Observation| {
        check.quantity == Some(quantity)
            && check.outcome.iter().any(|outcome| outcome.side.is_some())
    };
    let mut asked = asked(draft)
        .into_iter()
        .filter_map(|id| draft.knowledge.observations.get(&id));
    let mut all = draft.knowledge.observations.values().filter(fits);
    let only = all.next().filter(|_| all.next().is_none());
    asked
        .find(|check| fits(check))
        .or(only)
        .map(|check| check.id.clone())
}

fn asked(draft: &Draft<'_>) -> Vec<ObservationId> {
    match &draft.state.table {
        Some(Step::Observe(ids)) => ids.clone(),
        _ => Vec::new(),
    }
}

fn symptoms_and_history(draft: &mut Draft<'_>, heard: &Heard) {
    for said in &heard.said.symptoms {
        if told_as_check(draft, heard, said) {
            continue;
        }
        if let Some(symptom) = draft.knowledge.symptoms.get(&said.what.id) {
            let words = wording::receipt::symptom(&symptom.words, said.what.present);
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

/// The same words may name a complaint and the result of a check; only the check counts then.
fn told_as_check(draft: &Draft<'_>, heard: &Heard, symptom: &Said<Symptom>) -> bool {
    heard.said.observations.iter().any(|check| {
        let overlaps = check.span.start < symptom.span.end && symptom.span.start < check.span.end;
        overlaps && belongs(draft, &check.what.id)
    })
}

/// Whether the rider's system knows that observation; all do while the system is unknown.
fn belongs(draft: &Draft<'_>, id: &ObservationId) -> bool {
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
    // One message gives one result for each check: the first said, where two are read.
    let mut made: Vec<ObservationId> = Vec::new();
    for (outcome, strength) in results {
        let observation = draft.knowledge.outcome(&outcome).map(|(id, _)| id);
        if let Some(id) = observation.filter(|id| !made.contains(id)) {
            made.push(id);
            result(draft, &outcome, strength);
        }
    }
}

/// Records that an observation came out in this way.
pub fn result(draft: &mut Draft<'_>, outcome: &OutcomeId, strength: f64) {
    let knowledge = draft.knowledge;
    let Some((observation, words)) = knowledge.outcome(outcome) else {
        return;
    };
    if !belongs(draft, &observation) {
        return;
    }
    let asked = asked(draft).contains(&observation);
    draft.say(Line::Receipt(wording::receipt::hedged(words, strength)));
    let found = Found {
        observation,
        weights: vec![(outcome.clone(), 1.0)],
        strength,
        measured: None,
        asked,
    };
    learn(draft, found);
}

/// Records a finding, the danger it reveals, and the work it took if it was asked for.
fn learn(draft: &mut Draft<'_>, found: Found) {
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
    let likely = found.weights.iter().filter(|(_, weight)| *weight > 0.5);
    likely
        .filter_map(|(id, _)| check.outcome.iter().find(|outcome| outcome.id == *id))
        .find_map(|outcome| outcome.hazard.clone())
}

fn readings(draft: &mut Draft<'_>, heard: &Heard) {
    let said: Vec<Reading> = heard
        .said
        .readings
        .iter()
        .map(|said| said.what.clone())
        .collect();
    let (leads, rest): (Vec<Reading>, Vec<Reading>) = said
        .into_iter()
        .partition(|reading| reading.of.as_deref() == Some("leads"));
    for reading in leads {
        let shown = shown(&reading);
        draft.say(Line::Receipt(wording::receipt::leads(
            shown.value,
            &shown.unit,
        )));
        draft.record(Event::LeadsRead(shown));
    }
    let mut asked = asked(draft);
    for reading in with_flow(rest) {
        if let Some(outcome) = open_circuit(draft, &reading) {
            result(draft, &outcome, 1.0);
            continue;
        }
        if let Some(id) = home(draft, &reading, &mut asked) {
            measure(draft, &id, shown(&reading), false);
        }
    }
}

/// "OL" or "no beep" as the answer to a check that is picked, not measured.
fn open_circuit(draft: &Draft<'_>, reading: &Reading) -> Option<OutcomeId> {
    use crate::language::interpretation::Special;
    if !matches!(reading.special, Some(Special::Overload | Special::NoBeep)) {
        return None;
    }
    let asked = asked(draft)
        .into_iter()
        .filter_map(|id| draft.knowledge.observations.get(&id));
    let mut picked = asked.filter(|check| check.kind == Manner::Choice);
    let outcome = picked.find_map(|check| check.outcome.iter().find(|outcome| outcome.overload))?;
    Some(outcome.id.clone())
}

/// A volume with a duration is also a flow.
fn with_flow(readings: Vec<Reading>) -> Vec<Reading> {
    let of = |kind: Kind| readings.iter().find(|reading| reading.quantity == kind);
    let flow = of(Kind::Volume).zip(of(Kind::Duration));
    let flow = flow.and_then(|(volume, duration)| measuring::flow(volume, duration));
    flow.into_iter().chain(readings).collect()
}

/// The observation a reading answers: by the name it is given, else the one asked for.
fn home(
    draft: &Draft<'_>,
    reading: &Reading,
    asked: &mut Vec<ObservationId>,
) -> Option<ObservationId> {
    let checks = &draft.knowledge.observations;
    let measures = |id: &ObservationId| {
        checks
            .get(id)
            .is_some_and(|check| check.kind == Manner::Measurement)
    };
    let named = reading.of.as_ref().and_then(|of| {
        let fits = |check: &&schema::Observation| {
            check.quantity == Some(reading.quantity)
                && check.of.contains(of)
                && belongs(draft, &check.id)
        };
        let wanted = asked.iter().filter_map(|id| checks.get(id)).find(fits);
        wanted
            .or_else(|| checks.values().find(fits))
            .map(|check| check.id.clone())
    });
    if let Some(id) = named {
        asked.retain(|other| *other != id);
        return Some(id);
    }
    let same = asked.iter().position(|id| {
        checks
            .get(id)
            .is_some_and(|check| check.quantity == Some(reading.quantity))
    });
    let any = same.or_else(|| asked.iter().position(measures));
    any.map(|at| asked.remove(at))
}

/// Judges a reading; keeps it back with a question where it is doubtful.
pub fn measure(draft: &mut Draft<'_>, id: &ObservationId, raw: Shown, confirmed: bool) {
    let Some(check) = draft.knowledge.observations.get(id) else {
        return;
    };
    let measured = measuring::measured(&draft.state, raw);
    match judgement(&draft.state, draft.knowledge, check, (&measured, confirmed)) {
        Ok(judgement) => judged(draft, check, measured, &judgement),
        Err(doubt) => {
            draft.record(Event::Queried(Query::Reading {
                observation: id.clone(),
                measured: measured.clone(),
                doubt: format!("{doubt:?}"),
            }));
            draft.say(Line::Receipt(wording::receipt::reading(
                check,
                measured.raw.quantity,
                measured.raw.value,
                &measured.raw.unit,
            )));
        }
    }
}

fn judged(
    draft: &mut Draft<'_>,
    check: &schema::Observation,
    measured: Measured,
    judgement: &Judgement,
) {
    let entry = wording::judgement::judged(check, judgement);
    draft.say(Line::Judgement(wording::judgement::line(
        check,
        judgement,
        &measuring::raw(&measured.raw),
        measured.leads.as_ref().map(measuring::raw).as_ref(),
    )));
    let weights = entry.weights.clone();
    draft.judged.push(entry);
    let found = Found {
        observation: check.id.clone(),
        weights,
        strength: 1.0,
        measured: Some(measured),
        asked: asked(draft).contains(&check.id),
    };
    learn(draft, found);
}
