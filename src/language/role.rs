//! What each number is there for: a reading, a meter's range, a rating, a spec, a wait, a count.

pub mod along;
pub mod around;
mod name;
pub mod owned;
mod pair;

pub use name::{counts, is_pronoun, may_be_bare};

use super::interpretation::{Context, Expecting};
use super::matching::{Hit, Text};
use super::quantity::Quantity;
use super::scope::{Place, Scopes, Sense};
use super::token::What;
use crate::knowledge::phrase::{Cue, DisplayWord, Meaning, Role};
use crate::quantity::Kind;
use name::is_name;

/// Everything known about one number.
#[derive(Debug, Clone)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "independent things a phrase may say of a number"
)]
pub struct Candidate {
    /// Position of its quantity.
    pub at: usize,
    /// Position of its sentence.
    pub sentence: usize,
    /// Kind by its unit.
    pub said: Option<Kind>,
    /// Whether something says that it is no reading.
    pub excluded: bool,
    /// Whether something says that it is one.
    pub claimed: bool,
    /// Whether it is a spec's.
    pub spec: bool,
    /// Whether it is the range a meter is set to.
    pub range: bool,
    /// Whether it is a bound from above, or from below.
    pub bound: Option<Bound>,
    /// Whether it is the number that another replaces.
    pub replaced: bool,
    /// Whether it is a time of something else than what was measured.
    pub elapsed: Option<Elapsed>,
    /// How it is meant.
    pub sense: Sense,
}

/// How surely a time is not the one asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Elapsed {
    /// "Ran for 3 seconds" may be the answer to a question.
    Lapse,
    /// "Waited 10 minutes" is none.
    Wait,
}

/// Which side a number bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// At most.
    Above,
    /// At least.
    Below,
}

/// One candidate for each quantity.
#[must_use]
pub fn candidates(text: &Text<'_>, hits: &[Hit<'_>], scopes: &Scopes<'_, '_>) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = text
        .quantities
        .iter()
        .enumerate()
        .map(|(at, quantity)| plain(text, scopes, at, quantity))
        .collect();
    for beside in hits.chunk_by(|one, next| one.sentence == next.sentence) {
        let counts = |hit: &&Hit<'_>| {
            !(borrows(text, hit)
                || leaps(text, hit, beside)
                || is_time_had(text, hit)
                || is_too_small(text, hit)
                || is_no_fuse(text, hit))
        };
        for hit in beside.iter().filter(counts) {
            for &at in &hit.numbers {
                note(&mut found[at], hit, beside);
            }
        }
    }
    for at in (1..found.len()).rev() {
        let told_apart = found[at].range || found[at].said == Some(Kind::Current);
        if found[at].excluded && !found[at].spec && told_apart && in_list(text, at) {
            found[at - 1].excluded |= !found[at - 1].claimed;
        }
    }
    for at in 1..found.len() {
        if found[at - 1].range && in_list(text, at) && !found[at].claimed {
            (found[at].excluded, found[at].range) = (true, true);
        }
    }
    note_listed_specs(text, &mut found);
    note_specs_before_results(text, &mut found);
    for at in 1..found.len() {
        // "spec 250 ml in 10 s, mine 140 ml in 10 s"
        let is = |one: &Candidate, kind: Kind| one.said.is_none_or(|said| said == kind);
        let volume = found[at - 1].spec && is(&found[at - 1], Kind::Volume);
        if volume && is(&found[at], Kind::Duration) && follows_in_time(text, at) {
            (found[at].excluded, found[at].spec) = (true, true);
        }
    }
    found
}

/// Whether only words like "in" stand between a number and the one before it.
fn follows_in_time(text: &Text<'_>, at: usize) -> bool {
    let between = text.quantities[at - 1].tokens.end..text.quantities[at].tokens.start;
    (1..=2).contains(&between.len()) && between.clone().all(|at| text.in_class(at, "intime"))
}

/// Takes the numbers in the lines under "Spec from the book:" for a spec's, until an empty line or the next
/// heading.
fn note_listed_specs(text: &Text<'_>, found: &mut [Candidate]) {
    let mut listed = vec![false; text.sentences.len()];
    let mut under = false;
    for (at, sentence) in text.sentences.iter().enumerate() {
        let last = sentence.tokens.end - 1;
        let line = text.tokens[last].is('\n');
        let empty = line && sentence.tokens.len() == 1;
        let heading = line && last > 0 && text.tokens[last - 1].is(':');
        if heading {
            let mut words = sentence.tokens.clone();
            under = words.any(|at| text.in_class(at, "spec-heading"));
        }
        under &= !empty;
        listed[at] = under && !heading;
    }
    for candidate in found
        .iter_mut()
        .filter(|one| listed[one.sentence] && !one.claimed)
    {
        (candidate.excluded, candidate.spec) = (true, true);
    }
}

/// Takes "2.1 ohm" of "black to white 2.1 ohm - got 3.1 ohm" for a spec's: what was to be read, a dash, and what was;
/// and so "210-300" of "source 210-300 / 268".
fn note_specs_before_results(text: &Text<'_>, found: &mut [Candidate]) {
    for at in 1..found.len() {
        let tokens = |at: usize| &text.quantities[at].tokens;
        let between = tokens(at - 1).end..tokens(at).start;
        let dash = text
            .tokens
            .get(between.start)
            .is_some_and(|token| token.is('-'));
        let got = (1..=3).contains(&between.len())
            && (between.start + 1..between.end).any(|at| text.in_class(at, "got-instead"));
        let alike = found[at - 1].said.is_some() && found[at - 1].said == found[at].said;
        let range = text.quantities[at - 1].upper.is_some() && text.quantities[at].upper.is_none();
        let slash = between.len() == 1 && text.tokens[between.start].is('/');
        if dash && got && alike || range && slash {
            (found[at - 1].excluded, found[at - 1].spec) = (true, true);
        }
    }
}

/// Whether a number stands in a list with the one before it, in the same unit: "6 A, 16 A and 32 A fuses".
fn in_list(text: &Text<'_>, at: usize) -> bool {
    let (before, this) = (&text.quantities[at - 1], &text.quantities[at]);
    let mut between = before.tokens.end..this.tokens.start;
    let kind = |one: &Quantity| one.unit.map(|unit| text.phrases.units.unit(unit).kind);
    let alike = before.is_whole() && this.is_whole() && kind(before) == kind(this);
    let joins = |at: usize| text.tokens[at].is(',') || text.in_class(at, "joiner");
    alike && !this.spelt && (1..=2).contains(&between.len()) && between.all(joins)
}

/// Whether a phrase about a spec reaches over another number to its own: "calls for 43 and I have 28".
///
/// The number of a page is no other number: "the manual (p. 88) says 13.5".
fn leaps(text: &Text<'_>, hit: &Hit<'_>, beside: &[Hit<'_>]) -> bool {
    let spec = hit.phrase.meaning == Meaning::Role(Role::Spec);
    let counts = |over: usize| {
        beside.iter().any(|other| {
            other.phrase.meaning == Meaning::Role(Role::Other) && other.numbers.contains(&over)
        })
    };
    let passes = |at: usize| {
        let over = text.quantity_over(at);
        over.is_some_and(|over| !hit.numbers.contains(&over) && !counts(over))
    };
    spec && hit.head.clone().any(passes)
}

/// Whether a phrase that says "reading" is only about having so much time: "I get my 4 seconds again".
fn is_time_had(text: &Text<'_>, hit: &Hit<'_>) -> bool {
    let [only] = hit.numbers.as_slice() else {
        return false;
    };
    let unit = text.quantities[*only].unit;
    let time = unit.is_some_and(|unit| text.phrases.units.unit(unit).kind == Kind::Duration);
    let had = hit
        .used
        .first()
        .is_some_and(|&at| text.in_class(at, "getting"));
    hit.phrase.meaning == Meaning::Role(Role::Reading) && time && had
}

/// Whether a phrase calls a rating what no fuse of a vehicle has: "the 10 amp fuse out, 2 milliamps".
fn is_too_small(text: &Text<'_>, hit: &Hit<'_>) -> bool {
    /// Amperes of the smallest fuse of a vehicle or a meter (common practice, no source).
    const LEAST: f64 = 0.1;
    let small = |&at: &usize| {
        let quantity = &text.quantities[at];
        let unit = quantity.unit.map(|unit| text.phrases.units.unit(unit));
        unit.is_some_and(|unit| unit.kind == Kind::Current && unit.to_base(quantity.value) < LEAST)
    };
    hit.phrase.meaning == Meaning::Role(Role::Rating) && hit.numbers.iter().any(small)
}

/// Whether a phrase calls a rating what no fuse is made for, and what has no unit: "12.5 main fuse, 12.3
/// switch".
fn is_no_fuse(text: &Text<'_>, hit: &Hit<'_>) -> bool {
    let measured = |&at: &usize| {
        let quantity = &text.quantities[at];
        let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
        decimal && quantity.unit.is_none() && !quantity.is_fuse_size()
    };
    let fuse = hit.used.iter().any(|&at| text.in_class(at, "fuse"));
    let rating = hit.phrase.meaning == Meaning::Role(Role::Rating);
    rating && fuse && hit.numbers.iter().any(measured)
}

/// Whether a word of the phrase is the unit of a number that is not its own: the "min" of "5 min: 30 psi".
fn borrows(text: &Text<'_>, hit: &Hit<'_>) -> bool {
    let role = matches!(hit.phrase.meaning, Meaning::Role(_));
    let united = |at: usize| text.quantities[at].tokens.len() > 1;
    role && hit.used.iter().any(|&token| {
        text.quantity_over(token)
            .is_some_and(|at| united(at) && !hit.numbers.contains(&at))
    })
}

/// Takes down what a phrase says of one of its numbers; `beside` are the phrases of its sentence.
fn note(candidate: &mut Candidate, hit: &Hit<'_>, beside: &[Hit<'_>]) {
    match hit.phrase.meaning {
        // "1.8 in relative mode": neither a range nor inches.
        Meaning::Role(Role::Range | Role::Other) if in_circumstance(hit, beside) => {}
        Meaning::Role(role) => apply(candidate, role, hit, beside),
        Meaning::Display(DisplayWord::Overload | DisplayWord::Lone) => candidate.excluded = true,
        Meaning::Cue(Cue::Replaced) => {
            // "not even 10" bounds the number and does not replace it
            let bounded = beside.iter().any(|other| {
                matches!(
                    other.phrase.meaning,
                    Meaning::Role(Role::AtMost | Role::AtLeast | Role::About)
                ) && other.numbers.contains(&candidate.at)
                    && other.used.len() > hit.used.len()
            });
            candidate.replaced |= !bounded;
        }
        _ => {}
    }
}

/// Whether a phrase takes words from one that says how a reading was taken.
fn in_circumstance(hit: &Hit<'_>, hits: &[Hit<'_>]) -> bool {
    hits.iter().any(|other| {
        matches!(other.phrase.meaning, Meaning::Circumstance(_))
            && other.used.iter().any(|token| hit.used.contains(token))
    })
}

fn plain(text: &Text<'_>, scopes: &Scopes<'_, '_>, at: usize, quantity: &Quantity) -> Candidate {
    let sentence = text.sentence_of(quantity.tokens.start);
    let used: Vec<usize> = quantity.tokens.clone().collect();
    let place = Place {
        head: &quantity.tokens,
        used: &used,
        sentence,
    };
    Candidate {
        at,
        sentence,
        said: quantity.unit.map(|unit| text.phrases.units.unit(unit).kind),
        excluded: is_name(text, quantity) || is_tolerance(text, quantity),
        claimed: false,
        spec: false,
        range: false,
        bound: signed_bound(text, quantity),
        replaced: false,
        elapsed: None,
        sense: scopes.sense(place),
    }
}

/// Whether it only says by how much another may be off: "call it ±0.3".
fn is_tolerance(text: &Text<'_>, quantity: &Quantity) -> bool {
    let before = quantity.tokens.start.checked_sub(1);
    before.is_some_and(|before| text.tokens[before].is('±'))
}

/// `<1` and `> 12`.
fn signed_bound(text: &Text<'_>, quantity: &Quantity) -> Option<Bound> {
    let before = &text.tokens[quantity.tokens.start.checked_sub(1)?];
    let equal = before.is('=') && quantity.tokens.start >= 2;
    let sign = if equal {
        &text.tokens[quantity.tokens.start - 2]
    } else {
        before
    };
    // "12.2 -> 11.6"
    let shaft = quantity.tokens.start.checked_sub(2);
    let arrow = before.is('>')
        && shaft.is_some_and(|shaft| {
            ['-', '=', '>']
                .iter()
                .any(|&mark| text.tokens[shaft].is(mark))
        });
    // "12.55 > 12.50 > 12.48", as a row of places
    let at = quantity.tokens.start - 1;
    let row = before.is('>') && at > 0 && text.quantity_over(at - 1).is_some();
    match sign.what {
        _ if arrow || row => None,
        What::Mark('<') => Some(Bound::Above),
        What::Mark('>') => Some(Bound::Below),
        _ => None,
    }
}

fn apply(candidate: &mut Candidate, role: Role, hit: &Hit<'_>, beside: &[Hit<'_>]) {
    let outweighed = || {
        beside.iter().any(|other| {
            other.phrase.meaning == Meaning::Role(Role::Reading)
                && other.numbers.contains(&candidate.at)
                && outweighs(other, hit)
        })
    };
    match role {
        Role::AtMost => candidate.bound = Some(Bound::Above),
        Role::AtLeast => candidate.bound = Some(Bound::Below),
        Role::About => {}
        Role::Reading => candidate.claimed = true,
        // "I set the idle at 1500 rpm" turns no dial of a meter
        Role::Range if candidate.said == Some(Kind::Speed) => {}
        Role::Range => (candidate.excluded, candidate.range) = (true, true),
        // "I typed 32, it should have been 3.2" is no spec
        Role::Spec if corrected(candidate, hit, beside) => {}
        Role::Spec => (candidate.excluded, candidate.spec) = (true, true),
        Role::Wait => candidate.elapsed = Some(Elapsed::Wait),
        Role::Lapse => candidate.elapsed = candidate.elapsed.or(Some(Elapsed::Lapse)),
        Role::Rating | Role::Other => candidate.excluded |= !outweighed(),
    }
}

/// Whether all words of a phrase about a spec are part of one that says "reading".
fn corrected(candidate: &Candidate, spec: &Hit<'_>, beside: &[Hit<'_>]) -> bool {
    beside.iter().any(|other| {
        other.phrase.meaning == Meaning::Role(Role::Reading)
            && other.numbers.last() == Some(&candidate.at)
            && other.used.len() > spec.used.len()
            && spec.used.iter().all(|token| other.used.contains(token))
    })
}

/// Whether a phrase that says "reading" counts for more than one that says "rating": it is longer, or
/// stands closer round the number than one whose parts are scattered.
fn outweighs(reading: &Hit<'_>, other: &Hit<'_>) -> bool {
    let spread = |hit: &Hit<'_>| {
        let ends = hit.used.last().zip(hit.used.first());
        ends.map(|(last, first)| last - first)
    };
    let longer = reading.used.len() > other.used.len();
    let scattered = other.phrase.parts.len() > 1;
    match other.phrase.meaning {
        // a bottle's size counts only where the time to fill it is told as well
        Meaning::Role(Role::Rating) if !scattered => longer && reading.numbers.len() > 1,
        _ => longer || (scattered && spread(reading) < spread(other)),
    }
}

/// What the message is expected to be a number of.
#[must_use]
pub fn expected(context: &Context) -> Option<Kind> {
    match context.expecting {
        Some(Expecting::Quantity(kind)) => Some(kind),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
