//! What is said of the conditions of safe work, and whether a yes to them is one without reserve.
//!
//! "Yes, except the gloves", "it has a carb" and "I guess so" are no confirmation. What keeps a yes from
//! being one is found by its words and by what is missing; in doubt there is a reserve, which costs a
//! rider one more question.

use super::interpretation::{Answer, Condition, Interpretation, Said, Span};
use super::matching::{Hit, Text};
use super::scope::{Place, Scopes};
use super::sentence::Sentence;
use super::statement::span;
use super::token::What;
use crate::knowledge::phrase::{AnswerWord, AssentWord, Meaning};

/// Adds conditions, and what keeps a yes from being one without reserve.
pub fn assent(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    found: &mut Interpretation,
) {
    let mut safe: Vec<&Hit<'_>> = hits.iter().filter(|hit| assures(hit)).collect();
    for hit in hits {
        if let Some(condition) = condition(text, hits, scopes, hit) {
            if condition.what.holds {
                safe.push(hit);
            }
            put(&mut found.conditions, condition);
        }
    }
    let yes = |said: &Said<Answer>| said.what == Answer::Yes;
    if found.done.is_some() || found.answer.as_ref().is_some_and(yes) {
        found.reserve = reserve(text, hits, &safe, found);
    }
}

fn assures(hit: &Hit<'_>) -> bool {
    hit.phrase.meaning == Meaning::Assent(AssentWord::Assure)
}

/// A condition said to hold, firmly and as a statement of its own, or not to hold.
fn condition(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    hit: &Hit<'_>,
) -> Option<Said<Condition>> {
    let Meaning::Condition { gate, holds } = &hit.phrase.meaning else {
        return None;
    };
    let sense = scopes.sense(Place::of(hit));
    let holds = *holds != sense.negated;
    let counts = sense.asserted() && (!holds || sense.strength >= 1.0 && opens(text, hits, hit));
    counts.then(|| Said {
        what: Condition {
            gate: gate.clone(),
            holds,
        },
        span: span(text, hit),
        strength: sense.strength,
    })
}

/// One statement on each condition; that it does not hold outweighs that it does.
fn put(list: &mut Vec<Said<Condition>>, said: Said<Condition>) {
    match list.iter_mut().find(|old| old.what.gate == said.what.gate) {
        Some(old) if !said.what.holds => *old = said,
        Some(_) => {}
        None => list.push(said),
    }
}

/// Whether nothing but small words and a plain answer stands before it in its clause: "cold outside" and
/// "it was outside" do not say that anyone is outside.
fn opens(text: &Text<'_>, hits: &[Hit<'_>], hit: &Hit<'_>) -> bool {
    let answers = |at: usize| {
        hits.iter().any(|hit| {
            matches!(hit.phrase.meaning, Meaning::Answer(_)) && hit.used.binary_search(&at).is_ok()
        })
    };
    let mut before = (0..hit.head.start).rev();
    before
        .find(|&at| {
            let small = text.is_filler(at) || answers(at);
            ends_clause(text, at) || !small || text.in_class(at, "then")
        })
        .is_none_or(|at| ends_clause(text, at))
}

fn ends_clause(text: &Text<'_>, at: usize) -> bool {
    matches!(text.tokens[at].what, What::Mark(_)) || text.in_class(at, "joiner")
}

/// The first thing that takes something of the yes back.
fn reserve(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    safe: &[&Hit<'_>],
    found: &Interpretation,
) -> Option<Span> {
    let is_safe = |at: usize| safe.iter().any(|hit| hit.head.contains(&at));
    let takes_back = |hit: &&Hit<'_>| match hit.phrase.meaning {
        Meaning::Assent(AssentWord::Reserve) => hit.head.clone().any(|at| !is_safe(at)),
        Meaning::Answer(AnswerWord::Unsure) => true,
        _ => false,
    };
    let words = || Some(span(text, hits.iter().find(takes_back)?));
    let denied = || {
        let mut conditions = found.conditions.iter();
        Some(conditions.find(|said| !said.what.holds)?.span.clone())
    };
    let lacks = || Some(found.kit.iter().find(|said| !said.what.has)?.span.clone());
    let hedged = || {
        let answer = found.answer.as_ref()?;
        (answer.strength < 1.0).then(|| answer.span.clone())
    };
    let asks = || {
        let asks = |sentence: &&Sentence| {
            let first = sentence.tokens.start;
            sentence.asks || text.in_class(first, "asking") || text.in_class(first, "leave")
        };
        let sentence = text.sentences.iter().find(asks)?;
        let tokens = &text.tokens[sentence.tokens.clone()];
        Some(tokens.first()?.span.start..tokens.last()?.span.end)
    };
    words()
        .or_else(denied)
        .or_else(lacks)
        .or_else(hedged)
        .or_else(asks)
        .or_else(|| no_yes(text, hits, safe))
}

/// Where the yes is only the echo of a verb, or a "done", and says something else: "it has a carb".
fn no_yes(text: &Text<'_>, hits: &[Hit<'_>], safe: &[&Hit<'_>]) -> Option<Span> {
    let answers = |word: AnswerWord| {
        let of = move |hit: &&Hit<'_>| hit.phrase.meaning == Meaning::Answer(word);
        hits.iter().filter(of)
    };
    if answers(AnswerWord::Yes).next().is_some() {
        return None;
    }
    let claimed = |at: usize| {
        let answer = |hit: &Hit<'_>| matches!(hit.phrase.meaning, Meaning::Answer(_));
        let of_answer = |hit: &Hit<'_>| answer(hit) && hit.used.binary_search(&at).is_ok();
        text.is_filler(at)
            || hits.iter().any(of_answer)
            || safe.iter().any(|hit| hit.head.contains(&at))
    };
    let mut weak = answers(AnswerWord::Echo).chain(answers(AnswerWord::Done));
    let open = weak.find(|hit| {
        let after = hit.head.end..text.tokens.len();
        after
            .take_while(|&at| !ends_clause(text, at))
            .any(|at| !claimed(at))
    });
    open.map(|hit| span(text, hit))
}
