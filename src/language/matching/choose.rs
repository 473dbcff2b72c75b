//! Joins parts to phrases, and drops a phrase that only repeats part of a longer one.

use super::Hit;
use super::parts::{Part, Parts};
use crate::knowledge::phrase::{Cue, DisplayWord, Meaning, Phrase, Role};

/// How many tokens may stand between the parts of a finding: in a list of ten facts, the test lamp at
/// the end is not what was bright at its beginning.
const NEAR: usize = 12;

fn is_finding(phrase: &Phrase) -> bool {
    matches!(phrase.meaning, Meaning::Outcome(..))
}

fn gap(one: &Part, other: &Part) -> usize {
    let (one, other) = (&one.range, &other.range);
    other
        .start
        .saturating_sub(one.end)
        .max(one.start.saturating_sub(other.end))
}

/// The phrase, if all its other parts stand in the sentence too, or in those before, the last first.
pub fn complete<'a>(
    phrase: &'a Phrase,
    head: &Part,
    (parts, before): (&Parts, &[Parts]),
    sentence: usize,
) -> Option<Hit<'a>> {
    let (mut used, mut numbers) = (head.used.clone(), head.numbers.clone());
    for &other in &phrase.parts[1..] {
        let apart = |part: &&Part| part.used.iter().all(|token| !used.contains(token));
        let near = |part: &&Part| !is_finding(phrase) || gap(part, head) <= NEAR;
        let nearest = parts
            .of_sequence(other)
            .filter(|part| apart(part) && near(part))
            .min_by_key(|part| part.range.start.abs_diff(head.range.start));
        let told_before = || {
            before
                .iter()
                .find_map(|parts| parts.of_sequence(other).find(apart))
        };
        let nearest = nearest.or_else(told_before)?;
        used.extend(&nearest.used);
        numbers.extend(&nearest.numbers);
    }
    used.sort_unstable();
    Some(Hit {
        phrase,
        head: head.range.clone(),
        used,
        numbers,
        sentence,
    })
}

/// Drops what only repeats part of a longer phrase of the same sort. They are in the order of their first
/// words.
pub fn keep_longest<'a>(hits: &[Hit<'a>]) -> Vec<Hit<'a>> {
    let mut kept: Vec<Hit<'a>> = Vec::new();
    for (at, hit) in hits.iter().enumerate() {
        let begun = hits.partition_point(|other| other.used.first() <= hit.used.first());
        let covered = hits[..begun].iter().enumerate().any(|(other_at, other)| {
            if other.used.last() < hit.used.last() {
                return false;
            }
            let longer = other.used.len() > hit.used.len()
                || (other.used == hit.used
                    && other.phrase.meaning == hit.phrase.meaning
                    && other_at < at);
            let repeats = |token| other.used.binary_search(token).is_ok();
            longer
                && competes(hit, other)
                && (contradicts(hit, other) || hit.used.iter().all(repeats))
        });
        if !covered {
            kept.push(hit.clone());
        }
    }
    kept
}

/// Two results of one check: the longer phrase knows what the words between its own mean, as "30 has 12.4 and 87 has
/// 1" knows of "87 has".
fn contradicts(one: &Hit<'_>, other: &Hit<'_>) -> bool {
    match (&one.phrase.meaning, &other.phrase.meaning) {
        (Meaning::Outcome(a, one), Meaning::Outcome(b, other)) => a == b && one != other,
        _ => false,
    }
}

/// Whether a phrase may be swallowed by a longer one.
///
/// A complaint gives way to another only where it hangs on one word: "the fuse goes pop" is no backfire.
fn competes(one: &Hit<'_>, other: &Hit<'_>) -> bool {
    let bound = |role: &Role| matches!(role, Role::AtMost | Role::AtLeast | Role::About);
    match (&one.phrase.meaning, &other.phrase.meaning) {
        (Meaning::Symptom { id: a, .. }, Meaning::Symptom { id: b, weak, .. }) => {
            a == b || (one.used.len() == 1 && !weak)
        }
        // each way a danger is told stands by itself: a longer one may be denied or harmless
        (Meaning::Hazard { .. }, Meaning::Hazard { .. }) => one.used == other.used,
        (Meaning::Role(a), Meaning::Role(b)) => bound(a) == bound(b),
        (Meaning::Short(a, _), Meaning::Short(b, _)) => a == b,
        (Meaning::Cue(_), Meaning::Answer(_)) => false,
        // "no flames, heaters or smokers": the "no" reaches on, and so does that of "I have no heater"
        (Meaning::Cue(Cue::Not), Meaning::Cue(Cue::Lack | Cue::Condition)) => {
            one.used.last() != other.used.last()
        }
        (Meaning::Cue(a), Meaning::Cue(b)) => {
            a == b
                || !matches!(
                    b,
                    Cue::Harmless | Cue::Figurative | Cue::OwnAct | Cue::SetNow
                )
        }
        // "fuse beeps, kill switch doesn't": the word that is left out is said of the one, and denied of the other
        (Meaning::Display(a), Meaning::Display(b)) => {
            let sounds = |shown: &DisplayWord| matches!(shown, DisplayWord::Beep);
            let denies = |shown: &DisplayWord| matches!(shown, DisplayWord::NoBeep);
            !(sounds(a) && denies(b) && one.used.last() == other.used.first())
        }
        // "air filter clogged" says nothing of the fuel filter
        (Meaning::Outcome(..), Meaning::Outcome(..))
        | (Meaning::Symptom { .. } | Meaning::Hazard { .. }, Meaning::Cue(Cue::Nothing)) => true,
        (one, other) => std::mem::discriminant(one) == std::mem::discriminant(other),
    }
}
