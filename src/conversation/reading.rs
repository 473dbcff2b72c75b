//! Takes in the numbers of a message: the leads, what they are read of, and how they were taken.

use super::amend::amended;
use super::doubt::{self, pending};
use super::draft::Draft;
use super::event::{Declined, Display, Event, Found, Measured, Query, Shown, Step, Target};
use super::hear::Heard;
use super::measuring::{self, Question, judgement, raw, shown};
use super::renew::again;
use super::uptake::{asked, belongs, in_a_result, learn, result};
use crate::knowledge::id::{ObservationId, OutcomeId};
use crate::knowledge::schema::{Manner, Observation};
use crate::language::interpretation::{Circumstance, Reading, Special};
use crate::quantity::{Circumstances, Kind, Missing, Warmth};
use crate::reply::{Line, wording};

/// Takes in every number of a message.
pub fn readings(draft: &mut Draft<'_>, heard: &Heard) {
    let mut said = Numbers::of(draft, heard);
    let mut changed = meter_and_power(draft, heard) || said.spec_told;
    changed |= leads(draft, &mut said, heard);
    let under = circumstances(&mut said, heard, draft);
    let judged = each(draft, (&said, heard), under);
    let told = under != Circumstances::default() && !confirms(draft);
    if changed || (told && judged.is_empty()) {
        again(draft, under, &judged);
    }
}

/// Whether the rider was asked for the conditions of a step: "key off, unplugged" is of the work ahead, and of no
/// reading told before.
fn confirms(draft: &Draft<'_>) -> bool {
    let conditions = matches!(
        draft.state.table,
        Some(Step::Surroundings | Step::Clear { .. } | Step::Safe(_))
    );
    conditions && pending(&draft.state, draft.knowledge).is_none()
}

/// The numbers of a message, by what they are for.
struct Numbers {
    leads: Vec<Reading>,
    rest: Vec<Reading>,
    spec_told: bool,
}

impl Numbers {
    fn of(draft: &Draft<'_>, heard: &Heard) -> Self {
        let said = heard.said.readings.iter();
        let said = said.filter(|said| !in_a_result(draft, heard, said));
        let said = said.map(|said| said.what.clone());
        let (mut leads, mut rest): (Vec<Reading>, Vec<Reading>) =
            said.partition(|reading| reading.of.as_deref() == Some("leads"));
        let corrected = has(heard, |circumstance| {
            matches!(
                circumstance,
                Circumstance::Zeroed | Circumstance::Subtracted
            )
        });
        let bare = rest.len() == 1 && leads.is_empty() && rest[0].quantity == Kind::Resistance;
        if corrected && rest.is_empty() {
            rest = std::mem::take(&mut leads);
        } else if bare && doubt::asks_for_leads(&draft.state, draft.knowledge) {
            leads = std::mem::take(&mut rest);
        }
        Self {
            leads,
            rest,
            spec_told: heard.said.spec.is_some(),
        }
    }

    /// Takes the first number of a kind out.
    fn take(&mut self, kind: Kind) -> Option<Reading> {
        let at = self
            .rest
            .iter()
            .position(|reading| reading.quantity == kind)?;
        Some(self.rest.remove(at))
    }
}

fn has(heard: &Heard, is: impl Fn(&Circumstance) -> bool) -> bool {
    let mut said = heard.said.circumstances.iter();
    said.any(|said| is(&said.what))
}

fn meter_and_power(draft: &mut Draft<'_>, heard: &Heard) -> bool {
    let before = draft.events.len();
    if let Some(meter) = heard.said.meter.as_ref().map(|said| said.what) {
        draft.say(Line::Receipt(wording::receipt::meter(
            meter.gain_percent,
            meter.digits,
        )));
        draft.record(Event::MeterTold(super::event::MeterTold {
            gain: meter.gain_percent / 100.0,
            digits: meter.digits,
        }));
    }
    for said in &heard.said.circumstances {
        if let Circumstance::Power(watts) = said.what {
            draft.say(Line::Receipt(wording::receipt::power(watts)));
            draft.record(Event::PowerTold(watts));
        }
    }
    draft.events.len() > before
}

fn leads(draft: &mut Draft<'_>, said: &mut Numbers, heard: &Heard) -> bool {
    let zeroed = has(heard, |circumstance| {
        matches!(circumstance, Circumstance::Zeroed)
    });
    if zeroed && said.leads.is_empty() {
        draft.say(Line::Receipt(wording::receipt::ZEROED.to_owned()));
        draft.record(Event::LeadsRead(nothing(said.rest.first())));
        return true;
    }
    for reading in &said.leads {
        let shown = shown(reading);
        draft.say(Line::Receipt(wording::receipt::leads(&raw(&shown))));
        draft.record(Event::LeadsRead(shown));
    }
    !said.leads.is_empty()
}

/// Leads taken off already: nothing is left to take off, but the display rounded twice.
fn nothing(like: Option<&Reading>) -> Shown {
    Shown {
        quantity: Kind::Resistance,
        value: Some(0.0),
        low: None,
        high: None,
        resolution: like.and_then(|reading| reading.resolution),
        unit: like.map_or_else(|| "ohm".to_owned(), |reading| reading.said_unit.clone()),
        display: None,
    }
}

/// How the readings of this message were taken. A temperature beside a spec is the spec's.
fn circumstances(said: &mut Numbers, heard: &Heard, draft: &Draft<'_>) -> Circumstances {
    let mut under = Circumstances::default();
    for said in &heard.said.circumstances {
        match said.what {
            Circumstance::Rested(seconds) => under.rest = Some(seconds),
            Circumstance::Loaded(loaded) => under.loaded = Some(loaded),
            Circumstance::Hot => under.warmth = Some(Warmth::FROM_RUNNING),
            Circumstance::Cool => under.warmth = Some(Warmth::AS_THE_AIR),
            Circumstance::Zeroed | Circumstance::Subtracted | Circumstance::Power(_) => {}
        }
    }
    let of_spec = super::uptake::spec_celsius(heard);
    let warm = std::iter::from_fn(|| said.take(Kind::Temperature));
    let warm = warm.filter_map(|reading| reading.value);
    let told: Vec<f64> = warm.filter(|value| Some(*value) != of_spec).collect();
    under.warmth = told.first().map(|&at| Warmth::told(at)).or(under.warmth);
    let asked = pending(&draft.state, draft.knowledge).map(|pending| pending.question);
    if asked == Some(Question::Missing(Missing::Rest)) {
        let rest = said.take(Kind::Duration).and_then(|reading| reading.value);
        under.rest = rest.or(under.rest);
    }
    under
}

/// Judges every reading that has a home. Returns the observations judged or kept back.
fn each(
    draft: &mut Draft<'_>,
    (said, heard): (&Numbers, &Heard),
    under: Circumstances,
) -> Vec<ObservationId> {
    let subtracted = has(heard, |c| matches!(c, Circumstance::Subtracted));
    let mut wanted = wanted(draft);
    let mut made = Vec::new();
    for (reading, over) in paired(&said.rest) {
        let amends = heard.said.amends.as_ref();
        if let Some((check, measured)) = amended(draft, amends, reading) {
            draft.say(Line::Receipt(wording::receipt::amended(check)));
            made.push(check.id.clone());
            measure(draft, check, measured);
            continue;
        }
        if let Some(outcome) = open_circuit(draft, reading) {
            result(draft, &outcome, 1.0);
            continue;
        }
        let Some(check) = home(draft, reading, &mut wanted) else {
            of_what(draft, reading);
            continue;
        };
        let leads = (reading.quantity == Kind::Resistance).then(|| {
            let subtracted = subtracted.then(|| nothing(Some(reading)));
            subtracted.or_else(|| draft.state.leads.clone())
        });
        let mut raw = shown(reading);
        if raw.display == Some(Display::Overload) {
            // A display that overflows is of whatever the meter was set to.
            raw.quantity = check.quantity.unwrap_or(raw.quantity);
        }
        let measured = Measured {
            raw,
            leads: leads.flatten(),
            over: over.map(shown),
            other: other_meaning(heard, reading).map(shown),
            under,
            confirmed: false,
        };
        made.push(check.id.clone());
        retake(draft, check, measured);
    }
    made
}

/// What the words of a reading may mean instead; a lone 1 has a doubt of its own.
fn other_meaning<'h>(heard: &'h Heard, reading: &Reading) -> Option<&'h Reading> {
    let meanings = heard.said.ambiguous.iter().map(|said| &said.what);
    let mut of_it = meanings.filter(|all| all.first() == Some(reading));
    of_it
        .next()?
        .iter()
        .skip(1)
        .find(|other| other.special.is_none())
}

/// A volume goes with the time it was caught in.
fn paired(readings: &[Reading]) -> Vec<(&Reading, Option<&Reading>)> {
    let of = |kind: Kind| readings.iter().find(|reading| reading.quantity == kind);
    let (volume, time) = (of(Kind::Volume), of(Kind::Duration));
    let in_a_pair = |reading: &Reading| volume.is_some() && reading.quantity == Kind::Duration;
    readings
        .iter()
        .filter(|reading| !in_a_pair(reading))
        .map(|reading| {
            let over = time.filter(|_| reading.quantity == Kind::Volume);
            (reading, over)
        })
        .collect()
}

/// Readings are taken on purpose, so one that belongs nowhere is not passed over in silence: an electrical
/// one may only lack its name, a volume or a pressure is judged by none of the checks.
fn of_what(draft: &mut Draft<'_>, reading: &Reading) {
    let words = match reading.quantity {
        Kind::Voltage | Kind::Resistance | Kind::Current if reading.of.is_none() => {
            wording::receipt::reading_of_what
        }
        Kind::Voltage
        | Kind::Resistance
        | Kind::Current
        | Kind::Volume
        | Kind::Flow
        | Kind::Pressure => wording::receipt::reading_not_counted,
        _ => return,
    };
    if reading.value.is_some() {
        let raw = raw(&shown(reading));
        draft.say(Line::Plain(words(&raw)));
    }
}

/// What a number without a name may answer: the reading kept back, then what is asked for.
fn wanted(draft: &Draft<'_>) -> Vec<ObservationId> {
    let kept = pending(&draft.state, draft.knowledge).map(|pending| pending.check.id.clone());
    let asked = asked(draft)
        .into_iter()
        .filter(|id| kept.as_ref() != Some(id));
    kept.clone().into_iter().chain(asked).collect()
}

/// "OL" or "no beep" as the answer to a check that is picked, not measured.
fn open_circuit(draft: &Draft<'_>, reading: &Reading) -> Option<OutcomeId> {
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

/// What a reading is of, its moment included where that is measured apart: "battery cranking". A number
/// with a moment and no name is of the one thing that is measured in that moment.
fn name(draft: &Draft<'_>, reading: &Reading) -> Option<String> {
    let Some(moment) = reading.moment else {
        return reading.of.clone();
    };
    let apart = |name: &&String| {
        let thing = name.strip_suffix(moment.word()).map(str::trim_end);
        thing.is_some() && (reading.of.is_none() || thing == reading.of.as_deref())
    };
    let checks = draft.knowledge.observations.values();
    let mut names = checks.flat_map(|check| &check.of);
    names.find(apart).cloned().or_else(|| reading.of.clone())
}

/// The observation a reading answers: by the name it is given, else the one asked for.
fn home<'a>(
    draft: &Draft<'a>,
    reading: &Reading,
    wanted: &mut Vec<ObservationId>,
) -> Option<&'a Observation> {
    let checks = &draft.knowledge.observations;
    let same = |check: &Observation| {
        let flow = (check.quantity, reading.quantity) == (Some(Kind::Flow), Kind::Volume);
        check.quantity == Some(reading.quantity) || flow
    };
    let name = name(draft, reading);
    let named = name.as_ref().and_then(|name| {
        let fits = |check: &&Observation| {
            same(check) && check.of.contains(name) && belongs(draft, &check.id)
        };
        // Asked for the battery on the starter, "battery 10.9" is that.
        let its_moment = |of: &String| {
            let rest = of.strip_prefix(name.as_str());
            reading.moment.is_none() && rest.is_some_and(|rest| rest.starts_with(' '))
        };
        let answers =
            |check: &&Observation| fits(check) || same(check) && check.of.iter().any(its_moment);
        let known = wanted.iter().filter_map(|id| checks.get(id));
        let first = known
            .clone()
            .find(fits)
            .or_else(|| known.clone().find(answers));
        first.or_else(|| checks.values().find(fits))
    });
    let elsewhere = |check: &Observation| {
        let name = name.as_ref().filter(|name| !check.of.contains(name));
        let known = |name: &String| checks.values().any(|other| other.of.contains(name));
        name.is_some_and(|name| check.not_of.contains(name) || !check.of.is_empty() && known(name))
    };
    let asked = |fits: &dyn Fn(&Observation) -> bool| {
        let mut known = wanted.iter().filter_map(|id| checks.get(id));
        known.find(|check| fits(check) && !elsewhere(check))
    };
    if named.is_none() && reading.moment.is_some() && name.is_some() {
        // A battery that sags on the starter says nothing of one at rest.
        return None;
    }
    let check = named
        .or_else(|| asked(&same))
        .or_else(|| asked(&|check| check.kind == Manner::Measurement))?;
    wanted.retain(|id| *id != check.id);
    Some(check)
}

/// Judges a reading that may be the same number once more.
fn retake(draft: &mut Draft<'_>, check: &Observation, mut measured: Measured) {
    let state = draft.state.clone();
    let before = pending(&state, draft.knowledge).filter(|before| before.check.id == check.id);
    if asked(draft).contains(&check.id) && measured.under.loaded.is_none() {
        // What was asked for was asked for under load.
        measured.under.loaded = Some(true);
    }
    let Some(before) = before else {
        // A battery read once more has rested no less.
        let known = state.found_since_repair(&check.id);
        let known = known.and_then(|found| found.measured.as_ref());
        let rest = known.and_then(|known| known.under.rest);
        measured.under.rest = measured.under.rest.or(rest);
        return measure(draft, check, measured);
    };
    measured.under = measured.under.or(before.measured.under);
    let same = before.measured.raw == measured.raw && before.measured.leads == measured.leads;
    match before.question {
        Question::Doubt(doubt) if same && doubt.may_stand(&raw(&measured.raw)) => {
            measured.confirmed = true;
            measure(draft, check, measured);
        }
        Question::Doubt(_) if same => insists(draft, check),
        Question::Missing(Missing::Time) if measured.raw.quantity == Kind::Duration => {
            let flow = Measured {
                over: Some(measured.raw),
                ..before.measured.clone()
            };
            measure(draft, check, flow);
        }
        _ => measure(draft, check, measured),
    }
}

/// A number that cannot be, said again: the meter is at fault, and the check is left for now.
fn insists(draft: &mut Draft<'_>, check: &Observation) {
    draft.say(Line::Plain(wording::doubt::INSISTED.to_owned()));
    if asked(draft).contains(&check.id) {
        draft.record(Event::Declined {
            target: Target::Observation(check.id.clone()),
            reason: Declined::Unsure,
        });
    } else {
        doubt::drop_reading(draft);
    }
}

/// Judges a reading; keeps it back with a question where it is doubtful.
pub fn measure(draft: &mut Draft<'_>, check: &Observation, measured: Measured) {
    match judgement(&draft.state, draft.knowledge, check, &measured) {
        Ok(verdict) => judged(draft, check, measured, &verdict),
        Err(question) => {
            draft.say(Line::Receipt(wording::receipt::reading(
                check,
                &raw(&measured.raw),
                measured.over.as_ref().map(raw).as_ref(),
            )));
            draft.record(Event::Queried(Query::Reading {
                observation: check.id.clone(),
                measured,
                doubt: format!("{question:?}"),
            }));
        }
    }
}

fn judged(
    draft: &mut Draft<'_>,
    check: &Observation,
    measured: Measured,
    verdict: &measuring::Verdict,
) {
    let spec = measuring::spec(&draft.state, draft.knowledge, check);
    let shown = wording::judgement::Shown {
        check,
        judgement: &verdict.judgement,
        spec: spec.as_ref(),
        raw: raw(&measured.raw),
        leads: measured.leads.as_ref().map(raw),
        over: measured.over.as_ref().map(raw),
        under: measured.under,
    };
    draft.say(Line::Judgement(shown.line()));
    if verdict.says_nothing {
        if pending(&draft.state, draft.knowledge).is_some() {
            doubt::drop_reading(draft);
        }
        return;
    }
    let entry = shown.entry();
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
