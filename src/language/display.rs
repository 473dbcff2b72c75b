//! Displays of a meter that are no number: `OL`, a lone 1, the beeper.

use super::interpretation::{Context, Expecting, Interpretation, Reading, Said, Special};
use super::matching::{Hit, Text};
use super::scope::{Place, Scopes};
use super::statement::span;
use crate::knowledge::phrase::{DisplayWord, Meaning};
use crate::quantity::Kind;

/// Adds displays to the readings.
pub fn displays(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    context: &Context,
    found: &mut Interpretation,
) {
    let expected = context.expecting == Some(Expecting::Quantity(Kind::Resistance));
    for hit in hits {
        let Meaning::Display(display) = hit.phrase.meaning else {
            continue;
        };
        let sense = scopes.sense(Place::of(hit));
        if sense.supposed || sense.foreign {
            continue;
        }
        let special = match (display, sense.negated) {
            (DisplayWord::Overload, false) => Special::Overload,
            (DisplayWord::Lone, false) if expected => Special::Overload,
            (DisplayWord::Beep, false) | (DisplayWord::NoBeep, true) => Special::Beep,
            (DisplayWord::Beep, true) | (DisplayWord::NoBeep, false) => Special::NoBeep,
            _ => continue,
        };
        let same = |old: &Said<Reading>| {
            old.what.special == Some(special) && old.span.end + 60 > span(text, hit).start
        };
        if !found.readings.iter().any(same) {
            found.readings.push(Said {
                what: Reading {
                    of: of_leads(text, hits, hit).then(|| LEADS.to_owned()),
                    ..shown(special)
                },
                span: span(text, hit),
                strength: sense.strength,
            });
        }
    }
}

/// The thing whose readings are taken off.
const LEADS: &str = "leads";

/// Whether the leads are named just before a display, with no number between: "leads OL".
fn of_leads(text: &Text<'_>, hits: &[Hit<'_>], display: &Hit<'_>) -> bool {
    const NEAR: usize = 3;
    let start = display.head.start;
    hits.iter().any(|hit| {
        let Meaning::Thing(thing) = hit.phrase.meaning else {
            return false;
        };
        let numbers = text.quantities.iter().map(|quantity| quantity.tokens.start);
        let mut between = numbers.filter(|at| (hit.head.end..start).contains(at));
        text.phrases.things[thing].id == LEADS
            && hit.sentence == display.sentence
            && hit.head.end <= start
            && start - hit.head.end <= NEAR
            && between.next().is_none()
    })
}

fn shown(special: Special) -> Reading {
    Reading {
        quantity: Kind::Resistance,
        value: None,
        low: None,
        high: None,
        said_unit: Kind::Resistance.unit().to_owned(),
        resolution: None,
        of: None,
        special: Some(special),
    }
}
