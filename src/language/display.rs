//! Displays of a meter that are no number: `OL`, a lone 1, the beeper.

use super::interpretation::{Context, Expecting, Interpretation, Reading, Said, Special};
use super::matching::{Hit, Text};
use super::quantity::Quantity;
use super::role::around::{MOST, around_display};
use super::role::owned::{Owner, compared, compares};
use super::scope::{Place, Scopes};
use super::statement::span;
use super::token::What;
use super::whose::Whose;
use crate::knowledge::classifier::Claim;
use crate::knowledge::phrase::{DisplayWord, Meaning};
use crate::quantity::Kind;
use std::ops::Range;

mod leads;

/// Displays looked back over for the same one said twice.
const NEAR: usize = 8;

/// Tokens after a display in which its place may be told.
const CLAUSE: usize = 12;

/// Adds displays to the readings.
pub fn displays(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    context: &Context,
    found: &mut Interpretation,
) {
    let expected = context.expecting == Some(Expecting::Quantity(Kind::Resistance));
    if expected {
        lone(text, found);
    }
    let is_display = |hit: &&Hit<'_>| matches!(hit.phrase.meaning, Meaning::Display(_));
    let few = hits.iter().filter(is_display).take(MOST + 1).count() <= MOST;
    let table = &text.phrases.numbered;
    let reading = table.position(&Claim::Reading).filter(|_| few);
    let whose = Whose::of(text, scopes);
    let compares = compares(text) && !whose.helps();
    for hit in hits {
        let Meaning::Display(display) = hit.phrase.meaning else {
            continue;
        };
        let sense = scopes.sense(Place::of(hit));
        let what_if = sense.conditional && text.sentences[hit.sentence].asks;
        let foreign = compared(text, &hit.head, compares).map_or_else(
            || sense.foreign && whose.is_anothers(hit.sentence),
            |owner| owner == Owner::Another,
        );
        if sense.supposed || foreign || what_if || !may_be(text, hit, (display, context), reading) {
            continue;
        }
        let special = match (display, sense.negated) {
            (DisplayWord::Overload, false) => Special::Overload,
            (DisplayWord::Lone, false) if expected => Special::Overload,
            (DisplayWord::Beep | DisplayWord::MaybeBeep, false) => Special::Beep,
            // "no, no beep" has one "no" more, which is no denial of the silence
            (DisplayWord::Beep | DisplayWord::MaybeBeep, true)
            | (DisplayWord::NoBeep | DisplayWord::MaybeNoBeep, _) => Special::NoBeep,
            _ => continue,
        };
        let start_of_hit = span(text, hit).start;
        let same = |old: &Said<Reading>| {
            old.what.special == Some(special)
                && old.span.end + 60 > start_of_hit
                && !of_another(text, old, hit)
                && !changed_since(found, old, start_of_hit)
        };
        let alike = |old: &&Said<Reading>| old.what.special == Some(special);
        let last = found.readings.iter().rev().take(NEAR).find(alike);
        let listed = last.is_some_and(|old| goes_on(text, old, hit));
        if listed || !found.readings.iter().rev().take(NEAR).any(same) {
            found.readings.push(Said {
                what: Reading {
                    of: named(text, hits, hit).or_else(|| leads::beside(text, hits, hit)),
                    ..shown(special)
                },
                span: span(text, hit),
                strength: sense.strength,
            });
        }
    }
}

/// Whether what stands around it leaves room for a reading, or for words that may be of anything, speaks
/// for one; `reading` is where the table has its margin, if it is to be asked.
fn may_be(
    text: &Text<'_>,
    hit: &Hit<'_>,
    (shown, context): (DisplayWord, &Context),
    reading: Option<usize>,
) -> bool {
    // Both chosen on messages that were not learned from.
    const DOUBTED: f64 = -0.2;
    const SURE: f64 = 0.5;
    // "the pump is silent": where no meter was asked about, only what is all but certain
    const SURE_UNASKED: f64 = 0.75;
    let vague = matches!(shown, DisplayWord::MaybeBeep | DisplayWord::MaybeNoBeep);
    let Some(reading) = reading else {
        return !vague;
    };
    let signs = around_display(text, &hit.head, shown, context.expecting);
    let table = &text.phrases.numbered;
    let margin = table.margins(signs.iter().map(String::as_str))[reading];
    let asked = context.expecting == Some(Expecting::Quantity(Kind::Resistance));
    margin
        > match (vague, asked) {
            (true, true) => SURE,
            (true, false) => SURE_UNASKED,
            (false, _) => DOUBTED,
        }
}

/// "F1 beep, F2 beep" and "OL, OL": a list, in which each tells of another thing.
fn goes_on(text: &Text<'_>, old: &Said<Reading>, hit: &Hit<'_>) -> bool {
    /// Words that name the next thing.
    const NAME: usize = 5;
    let from = text
        .tokens
        .partition_point(|token| token.span.start < old.span.end);
    // the same words, found by another phrase
    let Some(between) = text.tokens.get(from..hit.head.start) else {
        return false;
    };
    let [first, rest @ ..] = between else {
        return same_words(text, from, hit);
    };
    if heads_entries(text, old, from, hit) {
        return same_words(text, from, hit);
    }
    let apart = matches!(first.what, What::Mark(',' | ';' | '.' | '\n' | '/' | '…'));
    let named = rest.len() <= NAME
        && rest.iter().enumerate().all(|(ahead, token)| {
            let at = from + 1 + ahead;
            !matches!(token.what, What::Mark(mark) if !matches!(mark, ':' | '='))
                && !text.in_class(at, "denial")
                && !text.in_class(at, "same-again")
                && !text.in_class(at, "shower")
                && !text.in_class(at, "it-is")
        });
    apart && named && same_words(text, from, hit)
}

/// "Beep main, beep ignition": each entry begins with the display, and what it is of follows.
fn heads_entries(text: &Text<'_>, old: &Said<Reading>, from: usize, hit: &Hit<'_>) -> bool {
    /// Words that name a thing.
    const NAME: usize = 3;
    let first = text
        .tokens
        .partition_point(|token| token.span.start < old.span.start);
    let opens = |at: usize| at == 0 || matches!(text.tokens[at - 1].what, What::Mark(_));
    let named = from..hit.head.start.saturating_sub(1);
    let plain = |at: usize| {
        let word = matches!(text.tokens[at].what, What::Word(_));
        word && !text.in_class(at, "denial") && !text.in_class(at, "same-again")
    };
    let next = text.tokens.get(hit.head.end);
    opens(first)
        && opens(hit.head.start)
        && next.is_some_and(|next| next.plain().is_some())
        && (1..=NAME).contains(&named.len())
        && named.clone().all(plain)
}

/// Whether the words of a display are those that end at a token.
fn same_words(text: &Text<'_>, end: usize, hit: &Hit<'_>) -> bool {
    let own = text.tokens[hit.head.clone()].iter().rev();
    let before = text.tokens[..end].iter().rev();
    let alike = own
        .zip(before)
        .take_while(|(one, other)| one.what == other.what);
    alike.count() > 0
}

/// "OL, then 2.2, then OL again": something else was read between.
fn changed_since(found: &Interpretation, old: &Said<Reading>, start: usize) -> bool {
    let between =
        |other: &&Said<Reading>| other.span.start >= old.span.end && other.span.end <= start;
    let mut others = found.readings.iter().filter(between);
    others.any(|other| {
        other.what.quantity == Kind::Resistance && other.what.special != old.what.special
    })
}

/// Whether the same words were said before of something else: "no beep lever in, no beep lever out".
fn of_another(text: &Text<'_>, old: &Said<Reading>, hit: &Hit<'_>) -> bool {
    let end = text
        .tokens
        .partition_point(|token| token.span.start < old.span.end);
    let start = text
        .tokens
        .partition_point(|token| token.span.start < old.span.start);
    let words = |range: Range<usize>| range.filter_map(|at| text.tokens[at].id());
    let alike = words(start..end).eq(words(hit.head.clone()));
    let between = end..hit.head.start;
    let parts =
        |at: &usize| matches!(text.tokens[*at].what, What::Mark(_)) || text.in_class(*at, "joiner");
    let last = between.clone().rev().find(parts);
    let divided = last.is_some();
    // "OL on the pump pins, OL!!": the place told was that of the first
    let own = last.map_or(between.start, |at| at + 1)..between.end;
    // "OL / OL / 0.8"
    let listed = between.len() == 1
        && ['/', '|', '\n']
            .iter()
            .any(|&mark| text.tokens[end].is(mark));
    // "main fuse beep pump fuse beep"
    let of_next = between.clone().any(|at| text.in_class(at, "protection"));
    let last = (hit.head.end + CLAUSE).min(text.tokens.len());
    let clause_end = (hit.head.end..last)
        .find(|&at| matches!(text.tokens[at].what, What::Mark(_)) || text.in_class(at, "joiner"))
        .unwrap_or(last);
    let placed = |at: usize| text.in_class(at, "placing") || text.in_class(at, "protection");
    let again = between.clone().any(|at| text.in_class(at, "same-again"));
    let labelled = between.len() > 1 && text.tokens[between.end - 1].is(':');
    let placed = || own.clone().chain(hit.head.end..clause_end).any(placed);
    alike && !again && (listed || of_next || divided && (labelled || placed()))
}

/// Whether a number is the lone 1 on the left of a display out of range, as it is typed: "1 .".
#[must_use]
pub fn is_lone(text: &Text<'_>, quantity: &Quantity) -> bool {
    let stop = text.tokens.get(quantity.tokens.end);
    let after = quantity.tokens.end + 1;
    let apart =
        stop.is_some_and(|stop| stop.is('.') && (!stop.glued || text.in_class(after, "leftward")));
    apart && quantity.is_one() && quantity.is_count()
}

/// Adds each lone 1 to the readings, where a resistance was asked for.
fn lone(text: &Text<'_>, found: &mut Interpretation) {
    for quantity in text
        .quantities
        .iter()
        .filter(|quantity| is_lone(text, quantity))
    {
        let tokens = &quantity.tokens;
        found.readings.push(Said {
            what: shown(Special::Overload),
            span: text.tokens[tokens.start].span.start..text.tokens[tokens.end].span.end,
            strength: 1.0,
        });
    }
}

/// The thing named just before a display, with no number between: "leads OL", "pump winding OL".
fn named(text: &Text<'_>, hits: &[Hit<'_>], display: &Hit<'_>) -> Option<String> {
    const NEAR: usize = 3;
    let start = display.head.start;
    let things = hits.iter().filter_map(|hit| {
        let Meaning::Thing(thing) = hit.phrase.meaning else {
            return None;
        };
        let before = hit.sentence == display.sentence
            && hit.head.end <= start
            && start - hit.head.end <= NEAR;
        let numbers = text.quantities.iter().map(|quantity| quantity.tokens.start);
        let alone = before
            && !numbers
                .into_iter()
                .any(|at| (hit.head.end..start).contains(&at));
        let thing = &text.phrases.things[thing];
        (alone && !thing.state).then_some((hit.head.end, hit.used.len(), &thing.id))
    });
    things.max().map(|(_, _, id)| id.clone())
}

/// A display that is no number, as a reading.
#[must_use]
pub fn shown(special: Special) -> Reading {
    Reading {
        quantity: Kind::Resistance,
        value: None,
        low: None,
        high: None,
        said_unit: Kind::Resistance.unit().to_owned(),
        resolution: None,
        of: None,
        moment: None,
        special: Some(special),
    }
}
