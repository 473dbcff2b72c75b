//! What is said in words: complaints, history, hazards, system, kit, requests, results.

use super::interpretation::{Interpretation, KitSaid, Observed, Said, Span, Symptom};
use super::matching::{Hit, Text};
use super::scope::{Place, Scopes, Sense};
use crate::knowledge::phrase::{Cue, Meaning, Phrases};

/// Adds everything said in words to what is understood.
pub fn statements(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    found: &mut Interpretation,
) {
    let mut weak = Vec::new();
    for hit in hits {
        let sense = scopes.sense(Place::of(hit));
        let span = span(text, hit);
        match &hit.phrase.meaning {
            Meaning::Symptom { weak: is_weak, .. } => {
                if let Some(symptom) = complaint(scopes, hit, sense, text.phrases) {
                    let list = if *is_weak {
                        &mut weak
                    } else {
                        &mut found.symptoms
                    };
                    let said = Said {
                        what: symptom,
                        span,
                        strength: sense.strength,
                    };
                    put_symptom(list, said);
                }
            }
            Meaning::History(id) if !sense.supposed && !sense.foreign && !sense.negated => {
                put(&mut found.history, id.clone(), span, sense);
            }
            Meaning::Hazard { id, anyone }
                if is_now(sense, *anyone) && !scopes.is_harmless(Place::of(hit)) =>
            {
                put(&mut found.hazards, id.clone(), span, sense);
            }
            Meaning::Hazard { id, .. } if sense.asked && !sense.foreign => {
                put(&mut found.asked_about, id.clone(), span, sense);
            }
            Meaning::AskedAbout(id) if !sense.foreign => {
                put(&mut found.asked_about, id.clone(), span, sense);
            }
            Meaning::Request(id) if !sense.negated && is_main(text, hit, hits) => {
                put(&mut found.requests, id.clone(), span, sense);
            }
            Meaning::System(id) if sense.asserted() && !sense.negated => {
                let better = found
                    .system
                    .as_ref()
                    .is_none_or(|old| old.strength <= sense.strength);
                if better {
                    found.system = Some(Said {
                        what: id.clone(),
                        span,
                        strength: sense.strength,
                    });
                }
            }
            Meaning::Kit(id) => {
                if let Some(has) = at_hand(scopes, hit, sense) {
                    found.kit.retain(|kit| kit.what.id != *id);
                    found.kit.push(Said {
                        what: KitSaid {
                            id: id.clone(),
                            has,
                        },
                        span,
                        strength: sense.strength,
                    });
                }
            }
            Meaning::Outcome(id, outcome) => {
                let set_now = scopes.takes_words(Cue::SetNow, Place::of(hit));
                if let Some(strength) = finding(sense).filter(|_| !set_now) {
                    let observed = Observed {
                        id: id.clone(),
                        outcome: outcome.clone(),
                    };
                    let sense = Sense { strength, ..sense };
                    put(&mut found.observations, observed, span, sense);
                }
            }
            _ => {}
        }
    }
    add_weak(text.phrases, weak, found);
}

/// The complaint a phrase reports or denies; none where it does neither.
fn complaint(
    scopes: &Scopes<'_, '_>,
    hit: &Hit<'_>,
    sense: Sense,
    phrases: &Phrases,
) -> Option<Symptom> {
    let Meaning::Symptom { id, present, weak } = &hit.phrase.meaning else {
        return None;
    };
    let denied = *present == sense.negated;
    let elsewhere = sense.supposed || sense.foreign || sense.over;
    let says_nothing = denied && phrases.only_present.contains(id.as_str());
    let only_passing = *weak && sense.negated;
    let own_act = scopes.takes_words(Cue::OwnAct, Place::of(hit));
    (!(elsewhere || says_nothing || only_passing || own_act)).then(|| Symptom {
        id: id.clone(),
        present: !denied,
    })
}

/// What is left of the strength of a finding that may be out of date by now.
const MAY_BE_OVER: f64 = 0.7;

/// How firmly the result of a check is told; none where it is not. A condition is how results are
/// told ("if I put it on PRI it runs"), and a check made before the last repair still says something.
fn finding(sense: Sense) -> Option<f64> {
    let told = !(sense.negated || sense.supposed || sense.foreign);
    let share = if sense.over { MAY_BE_OVER } else { 1.0 };
    told.then_some(share * sense.strength)
}

/// The bytes of the message a phrase stands on.
pub fn span(text: &Text<'_>, hit: &Hit<'_>) -> Span {
    let (first, last) = (hit.used[0], hit.used[hit.used.len() - 1]);
    text.tokens[first].span.start..text.tokens[last].span.end
}

fn put<T: PartialEq>(list: &mut Vec<Said<T>>, what: T, span: Span, sense: Sense) {
    match list.iter_mut().find(|old| old.what == what) {
        Some(old) => old.strength = old.strength.max(sense.strength),
        None => list.push(Said {
            what,
            span,
            strength: sense.strength,
        }),
    }
}

/// One statement on each complaint. Where a story both reports and denies it, "no crank when hot" and
/// "cold it spins well", the complaint is why the rider writes.
fn put_symptom(list: &mut Vec<Said<Symptom>>, said: Said<Symptom>) {
    match list.iter_mut().find(|old| old.what.id == said.what.id) {
        Some(old) if old.what.present == said.what.present => {
            old.strength = old.strength.max(said.strength);
        }
        Some(old) if said.what.present => *old = said,
        Some(_) => {}
        None => list.push(said),
    }
}

/// Adds complaints said in passing where no more exact one is reported, and drops a denial that a
/// complaint already implies.
fn add_weak(phrases: &Phrases, weak: Vec<Said<Symptom>>, found: &mut Interpretation) {
    for said in weak {
        let exact = phrases.yields.get(said.what.id.as_str());
        let more_exact = |other: &Said<Symptom>| {
            other.what.present
                && exact.is_some_and(|ids| ids.iter().any(|id| id == other.what.id.as_str()))
        };
        if !found
            .symptoms
            .iter()
            .any(|other| more_exact(other) || other.what.id == said.what.id)
        {
            found.symptoms.push(said);
        }
    }
    let present: Vec<String> = found
        .symptoms
        .iter()
        .filter(|said| said.what.present)
        .map(|said| said.what.id.to_string())
        .collect();
    let implied = |said: &Said<Symptom>| {
        let by = phrases.implied.get(said.what.id.as_str());
        !said.what.present && by.is_some_and(|by| by.iter().any(|id| present.contains(id)))
    };
    found.symptoms.retain(|said| !implied(said));
    found.symptoms.sort_by_key(|said| said.span.start);
}

/// Words of a message in which a request of a few words may be a word of a story: "Quit again. And again."
const STORY: usize = 20;

/// Whether a request is what its sentence is about, and not a word of a story.
fn is_main(text: &Text<'_>, hit: &Hit<'_>, hits: &[Hit<'_>]) -> bool {
    let told = |other: &&Hit<'_>| {
        other.sentence == hit.sentence
            && matches!(
                other.phrase.meaning,
                Meaning::Symptom { .. } | Meaning::Hazard { .. }
            )
    };
    let tokens = text.sentences[hit.sentence].tokens.clone();
    let others = tokens.filter(|&at| {
        text.tokens[at].plain().is_some()
            && !text.is_filler(at)
            && hit.used.binary_search(&at).is_err()
    });
    let words = text.tokens.iter().filter(|token| token.plain().is_some());
    if hit.used.len() <= 3 && words.count() > STORY {
        return false;
    }
    let few = if hit.used.len() == 1 { 1 } else { 5 };
    !hits.iter().any(|other| told(&other)) && others.count() <= few
}

/// Whether a danger is there now, said of the rider's own bike or of anyone's.
fn is_now(sense: Sense, anyone: bool) -> bool {
    !sense.negated
        && !sense.supposed
        && !sense.conditional
        && !sense.mended
        && (anyone || !sense.foreign)
}

/// Whether the rider has the thing or lacks it; none where it is only mentioned.
fn at_hand(scopes: &Scopes<'_, '_>, hit: &Hit<'_>, sense: Sense) -> Option<bool> {
    let place = Place::of(hit);
    // "are gardening gloves ok?"
    if sense.supposed || sense.foreign || sense.asked {
        return None;
    }
    match scopes.nearest([Cue::Lack, Cue::Have], place) {
        Some(Cue::Lack) => Some(false),
        _ if sense.negated || sense.over => Some(false),
        Some(_) => Some(true),
        None => scopes.turns_a_lack(place).then_some(true),
    }
}
