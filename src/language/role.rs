//! What each number is there for: a reading, a meter's range, a rating, a spec, a wait, a count.

use super::interpretation::{Context, Expecting};
use super::matching::{Hit, Text};
use super::quantity::Quantity;
use super::scope::{Place, Scopes, Sense};
use super::token::What;
use crate::knowledge::phrase::{Cue, DisplayWord, Meaning, Role};
use crate::quantity::Kind;
use std::ops::Range;

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
    /// How it is meant.
    pub sense: Sense,
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
    for hit in hits {
        match hit.phrase.meaning {
            // "1.8 in relative mode": neither a range nor inches.
            Meaning::Role(Role::Range | Role::Other) if in_circumstance(hit, hits) => {}
            Meaning::Role(role) => hit
                .numbers
                .iter()
                .for_each(|&at| apply(&mut found[at], role, hit, hits)),
            Meaning::Display(DisplayWord::Overload | DisplayWord::Lone) => {
                hit.numbers.iter().for_each(|&at| found[at].excluded = true);
            }
            Meaning::Cue(Cue::Replaced) => {
                hit.numbers.iter().for_each(|&at| found[at].replaced = true);
            }
            _ => {}
        }
    }
    found
}

/// Whether a phrase takes words from one that says how a reading was taken.
fn in_circumstance(hit: &Hit<'_>, hits: &[Hit<'_>]) -> bool {
    hits.iter().any(|other| {
        matches!(other.phrase.meaning, Meaning::Circumstance(_))
            && other.used.iter().any(|token| hit.used.contains(token))
    })
}

fn plain(text: &Text<'_>, scopes: &Scopes<'_, '_>, at: usize, quantity: &Quantity) -> Candidate {
    let sentence = text
        .sentences
        .iter()
        .position(|sentence| sentence.tokens.contains(&quantity.tokens.start))
        .unwrap_or(0);
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
        excluded: is_name(text, &quantity.tokens, quantity),
        claimed: false,
        spec: false,
        range: false,
        bound: signed_bound(text, quantity),
        replaced: false,
        sense: scopes.sense(place),
    }
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
    match sign.what {
        What::Mark('<') => Some(Bound::Above),
        What::Mark('>') => Some(Bound::Below),
        _ => None,
    }
}

fn apply(candidate: &mut Candidate, role: Role, hit: &Hit<'_>, hits: &[Hit<'_>]) {
    // a longer phrase that says "reading" outweighs a shorter one that says "rating"
    let outweighed = hits.iter().any(|other| {
        other.phrase.meaning == Meaning::Role(Role::Reading)
            && other.numbers.contains(&candidate.at)
            && other.used.len() > hit.used.len()
    });
    match role {
        Role::AtMost => candidate.bound = Some(Bound::Above),
        Role::AtLeast => candidate.bound = Some(Bound::Below),
        Role::About => {}
        Role::Reading => candidate.claimed = true,
        Role::Range => (candidate.excluded, candidate.range) = (true, true),
        Role::Spec => (candidate.excluded, candidate.spec) = (true, true),
        Role::Rating | Role::Wait | Role::Other => candidate.excluded |= !outweighed,
    }
}

/// Whether the number is part of a name: glued to letters that are no unit, a ratio, a time of day,
/// more digits than a meter has.
fn is_name(text: &Text<'_>, tokens: &Range<usize>, quantity: &Quantity) -> bool {
    let next = text.tokens.get(tokens.end);
    let lettered = next.is_some_and(|next| {
        next.glued
            && matches!(next.what, What::Word(_))
            && quantity.unit.is_none()
            && !text.in_class(tokens.end, "ish")
    });
    let joined = next
        .is_some_and(|next| next.glued && (next.is('/') || next.is(':') || next.is('%')))
        && quantity.unit.is_none()
        && (text.tokens[tokens.end].is('%')
            || matches!(text.tokens.get(tokens.end + 1), Some(after) if after.glued && matches!(after.what, What::Number(_))));
    let before = tokens
        .start
        .checked_sub(1)
        .map(|before| &text.tokens[before]);
    let continued = text.tokens[tokens.start].glued
        && before.is_some_and(|before| {
            matches!(before.what, What::Word(_))
                || before.is('/')
                || before.is(':') && preceded_by_number(text, tokens.start)
                || before.is('#')
                || before.is('$')
                || before.is('£')
                || before.is('€')
        });
    let numbered = quantity.unit.is_none()
        && quantity.value <= 12.0
        && quantity.decimals == Some(0)
        && next.is_some_and(|next| next.is(':') && next.glued)
        && text
            .quantities
            .iter()
            .any(|other| other.tokens.start == tokens.end + 1);
    let long = quantity.unit.is_none() && quantity.value >= 100_000.0;
    numbered || lettered || joined || continued || long
}

fn preceded_by_number(text: &Text<'_>, at: usize) -> bool {
    at >= 2 && matches!(text.tokens[at - 2].what, What::Number(_))
}

/// What the message is expected to be a number of.
#[must_use]
pub fn expected(context: &Context) -> Option<Kind> {
    match context.expecting {
        Some(Expecting::Quantity(kind)) => Some(kind),
        _ => None,
    }
}

/// Whether a number with no unit may be a reading at all: not a year, not a count of things.
#[must_use]
pub fn may_be_bare(text: &Text<'_>, quantity: &Quantity, kind: Kind) -> bool {
    let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
    if decimal {
        return true;
    }
    let year = (1950.0..=2035.0).contains(&quantity.value)
        && !matches!(kind, Kind::Resistance | Kind::Speed);
    let after = quantity.tokens.end;
    let next = text.tokens.get(after);
    let counted = next.is_some_and(|next| matches!(next.what, What::Word(_)))
        && !text.is_filler(after)
        && !text.in_class(after, "follower");
    let pronoun =
        quantity.spelt && quantity.value <= 1.0 && quantity.value > 0.0 && text.tokens.len() > 3;
    !(year || counted || pronoun)
}
