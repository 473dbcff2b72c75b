//! A volume in a time: which volume and which time belong together.

use crate::language::matching::Text;
use crate::language::role::{Candidate, Elapsed};
use crate::language::token::What;
use crate::quantity::Kind;
use std::ops::Range;

/// Numbers looked at on either side.
const NEAR: usize = 2;
/// Tokens from the start of one to the end of the other.
const APART: usize = 20;

/// By candidate: whether it is a volume in a time, or the time of one, from the time of each volume.
#[must_use]
pub fn filling(times: &[Option<usize>]) -> Vec<bool> {
    let mut paired: Vec<bool> = times.iter().map(Option::is_some).collect();
    for time in times.iter().flatten() {
        paired[*time] = true;
    }
    paired
}

/// By candidate: the time of a volume.
#[must_use]
pub fn times(text: &Text<'_>, candidates: &[Candidate]) -> Vec<Option<usize>> {
    let mut times = vec![None; candidates.len()];
    let volumes = candidates
        .iter()
        .filter(|candidate| candidate.said == Some(Kind::Volume) && !candidate.excluded);
    for volume in volumes {
        let around = volume.at.saturating_sub(NEAR)..(volume.at + NEAR + 1).min(candidates.len());
        let nearest = candidates[around]
            .iter()
            .filter(|time| time.said == Some(Kind::Duration) && !time.excluded)
            .filter_map(|time| {
                let cost = cost(text, volume, time)?;
                Some((cost, between(text, volume, time).len(), time.at))
            })
            .min();
        times[volume.at] = nearest.map(|(.., time)| time);
    }
    times
}

/// By candidate: what two bare numbers are where a flow was asked for: "200 in 15" is a volume in a time.
#[must_use]
pub fn bare_pairs(text: &Text<'_>, candidates: &[Candidate]) -> Vec<Option<Kind>> {
    let mut kinds = vec![None; candidates.len()];
    for pair in candidates.windows(2) {
        let [first, second] = pair else { continue };
        let tokens = |one: &Candidate| &text.quantities[one.at].tokens;
        let between = tokens(first).end..tokens(second).start;
        let joins = |at: usize| text.in_class(at, "intime") || text.tokens[at].is('/');
        let passes = |at: usize| {
            joins(at) || text.is_filler(at) || matches!(text.tokens[at].what, What::Mark('.' | ','))
        };
        let joined = (1..=3).contains(&between.len())
            && between.clone().all(passes)
            && between.clone().any(joins);
        let volume = first.said.is_none_or(|kind| kind == Kind::Volume);
        // "not even 50 ml, so under 50" says it again
        let value = |one: &Candidate| text.quantities[one.at].value;
        let another = value(first).total_cmp(&value(second)).is_ne();
        let time = another && second.said.is_none_or(|kind| kind == Kind::Duration);
        if joined && volume && time && !first.excluded && !second.excluded {
            kinds[first.at] = Some(Kind::Volume);
            kinds[second.at] = Some(Kind::Duration);
        }
    }
    kinds
}

/// How far a time is from a volume; none where it cannot be the time it took.
fn cost(text: &Text<'_>, volume: &Candidate, time: &Candidate) -> Option<usize> {
    let apart = volume.at.abs_diff(time.at);
    let articles =
        text.quantities[volume.at].article && text.quantities[time.at].article && apart > 1;
    let sentences = volume.sentence.abs_diff(time.sentence);
    let waited = time.elapsed == Some(Elapsed::Wait);
    let reach = sentences <= usize::from(!waited);
    (!articles && reach && in_time(text, volume, time))
        .then_some(apart + 4 * sentences + 2 * usize::from(waited))
}

/// The tokens between two numbers.
fn between(text: &Text<'_>, one: &Candidate, other: &Candidate) -> Range<usize> {
    let tokens = |candidate: &Candidate| &text.quantities[candidate.at].tokens;
    let (a, b) = (tokens(one), tokens(other));
    a.end.min(b.end)..a.start.max(b.start)
}

/// Whether they touch, or a word like "in" or "took" stands between or just before the two numbers.
fn in_time(text: &Text<'_>, one: &Candidate, other: &Candidate) -> bool {
    let tokens = |candidate: &Candidate| &text.quantities[candidate.at].tokens;
    let (a, b) = (tokens(one), tokens(other));
    let (start, end) = (a.start.min(b.start), a.end.max(b.end));
    let first = one.sentence.min(other.sentence);
    let from = start
        .saturating_sub(6)
        .max(text.sentences[first].tokens.start);
    let between = between(text, one, other);
    let touching = between.len() <= 2
        && between.into_iter().all(|at| {
            matches!(text.tokens[at].what, What::Mark(_)) || text.in_class(at, "delivery")
        });
    end - start <= APART && (touching || (from..end).any(|at| text.in_class(at, "intime")))
}
