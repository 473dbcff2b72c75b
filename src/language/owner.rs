//! What each reading belongs to: the leads alone, the battery, the pump plug.

use super::matching::{Hit, Text};
use super::reading::Taken;
use super::tally::Tally;
use super::token::What;
use crate::knowledge::phrase::Meaning;
use crate::quantity::Kind;
use std::ops::Range;

/// The test leads, which are told apart from everything measured through them.
pub const LEADS: &str = "leads";

/// Things looked back over for the same one named twice.
const NEAR: usize = 8;

struct Thing<'h> {
    name: &'h str,
    place: Range<usize>,
    sentence: usize,
}

/// Gives each reading its thing: the nearest in its own clause, else in a neighbouring clause that
/// has no reading of its own.
pub fn assign(text: &Text<'_>, hits: &[Hit<'_>], taken: &mut [Taken]) {
    let things = things(text, hits);
    let divided = Tally::of(text.tokens.len(), |at| divides(text, at));
    let mut pairs: Vec<(usize, usize, usize)> = Vec::new();
    for (reading, one) in taken.iter().enumerate() {
        let beside = neighbours(taken, one.sentence);
        let from = things.partition_point(|thing| thing.sentence + 1 < one.sentence);
        for (at, thing) in things.iter().enumerate().skip(from) {
            if thing.sentence > one.sentence + 1 {
                break;
            }
            if let Some(cost) = cost((text, &divided), beside, one, thing) {
                pairs.push((cost, reading, at));
            }
        }
    }
    pairs.sort_unstable();
    let mut spent = vec![false; things.len()];
    for (_, reading, at) in pairs {
        let leads = things[at].name == LEADS;
        let free = taken[reading].reading.of.is_none() && !(leads && spent[at]);
        if free {
            taken[reading].reading.of = Some(things[at].name.to_owned());
            spent[at] = true;
        }
    }
}

/// The readings of a sentence and of those beside it.
fn neighbours(taken: &[Taken], sentence: usize) -> &[Taken] {
    let from = taken.partition_point(|other| other.sentence + 1 < sentence);
    let to = taken.partition_point(|other| other.sentence <= sentence + 1);
    &taken[from..to]
}

/// The things named, each once however many phrases name it.
fn things<'h>(text: &Text<'h>, hits: &[Hit<'_>]) -> Vec<Thing<'h>> {
    let mut found: Vec<Thing<'h>> = Vec::new();
    for beside in hits.chunk_by(|one, next| one.sentence == next.sentence) {
        for hit in beside.iter().filter(|hit| !is_cable(text, hit, beside)) {
            let Some(thing) = thing(text, hit) else {
                continue;
            };
            let again = |old: &Thing<'_>| {
                old.sentence == thing.sentence
                    && old.name == thing.name
                    && old.place.start < thing.place.end
                    && thing.place.start < old.place.end
            };
            if !found.iter().rev().take(NEAR).any(again) {
                found.push(thing);
            }
        }
    }
    found
}

fn thing<'h>(text: &Text<'h>, hit: &Hit<'_>) -> Option<Thing<'h>> {
    let Meaning::Thing(at) = hit.phrase.meaning else {
        return None;
    };
    let thing = &text.phrases.things[at];
    (!thing.state).then(|| Thing {
        name: &thing.id,
        place: hit.head.clone(),
        sentence: hit.sentence,
    })
}

/// Whether the "leads" are part of another thing's name: "pump leads", "battery leads".
fn is_cable(text: &Text<'_>, hit: &Hit<'_>, hits: &[Hit<'_>]) -> bool {
    let name = |hit: &Hit<'_>| match hit.phrase.meaning {
        Meaning::Thing(at) => Some(text.phrases.things[at].id.as_str()),
        _ => None,
    };
    name(hit) == Some(LEADS)
        && hits.iter().any(|other| {
            let through =
                matches!(other.phrase.meaning, Meaning::Thing(at) if text.phrases.things[at].state);
            name(other).is_some_and(|name| name != LEADS)
                && other.used.len() > 1
                && !(through && hit.used.len() > 1)
                && other
                    .used
                    .iter()
                    .any(|token| hit.used.contains(token) && text.in_class(*token, "lead"))
        })
}

/// Whether a phrase is about the test leads alone.
#[must_use]
pub fn is_of_leads(text: &Text<'_>, hit: &Hit<'_>, hits: &[Hit<'_>]) -> bool {
    let named = thing(text, hit).is_some_and(|thing| thing.name == LEADS);
    named && !is_cable(text, hit, hits)
}

/// How far a thing is from a reading; none where it cannot belong to it.
fn cost(
    (text, divided): (&Text<'_>, &Tally),
    taken: &[Taken],
    one: &Taken,
    thing: &Thing<'_>,
) -> Option<usize> {
    // nobody reads volts off the leads alone
    if thing.name == LEADS && one.kind != Kind::Resistance {
        return None;
    }
    let tokens = &text.quantities[one.at].tokens;
    if thing.place.contains(&tokens.start) {
        return Some(0);
    }
    let before = thing.place.end <= tokens.start;
    let between = if before {
        thing.place.end..tokens.start
    } else {
        tokens.end..thing.place.start.max(tokens.end)
    };
    // readings stand in the order of the text
    let start = |other: &Taken| text.quantities[other.at].tokens.start;
    let first = taken.partition_point(|other| start(other) < between.start);
    let next = taken.get(first);
    let crossed = next.is_some_and(|next| start(next) < between.end);
    let apart = between.len();
    let labels = |at: usize| {
        text.tokens
            .get(at)
            .is_some_and(|token| token.is(':') || token.is('='))
    };
    // "pump=2.3 leads=0.3": a label goes with what follows it
    match labels(thing.place.end) {
        true if before && apart == 1 => return Some(0),
        true if !before => return None,
        _ => {}
    }
    if thing.sentence == one.sentence {
        let ended = divided.within(&between);
        // "10.4 cranking, fuses all look fine": its moment names what it is of
        if one.reading.moment.is_some() && !before && ended > 0 {
            return None;
        }
        let reach = match (ended, crossed) {
            (0, false) => 0,
            (0, true) => 40,
            (1, false) if !claimed((text, divided), taken, one, thing) => 100,
            _ => return None,
        };
        return Some(reach + apart * 2 + usize::from(!before));
    }
    // "Leads alone? 0.1": what follows the question answers it
    let asks = text.sentences[thing.sentence].asks && !before;
    let beside = thing.sentence.abs_diff(one.sentence) == 1 && apart < 14;
    let neighbour = thing.name == LEADS && beside && !asks;
    let alone = !taken.iter().any(|other| other.sentence == thing.sentence);
    (neighbour && alone && !crossed).then_some(200 + apart)
}

/// Whether the clause of a thing has a reading of its own.
fn claimed(
    (text, divided): (&Text<'_>, &Tally),
    taken: &[Taken],
    one: &Taken,
    thing: &Thing<'_>,
) -> bool {
    taken
        .iter()
        .filter(|other| other.at != one.at && other.sentence == thing.sentence)
        .any(|other| {
            let tokens = &text.quantities[other.at].tokens;
            let between = if tokens.end <= thing.place.start {
                tokens.end..thing.place.start
            } else {
                thing.place.end..tokens.start.max(thing.place.end)
            };
            divided.within(&between) == 0
        })
}

fn divides(text: &Text<'_>, at: usize) -> bool {
    match text.tokens[at].what {
        What::Mark(mark) => matches!(mark, ',' | ';' | '…' | '-' | '/' | '('),
        What::Word(_) => text.in_class(at, "joiner"),
        What::Number(_) => false,
    }
}
