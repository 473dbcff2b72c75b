//! Yes, no, unsure, and which of the choices on offer was picked.

use super::interpretation::{Answer, Context, Expecting, Interpretation, Said, Span};
use super::matching::{Hit, Text};
use super::scope::{Place, Scopes};
use super::statement::span;
use super::token::What;
use crate::knowledge::id::OutcomeId;
use crate::knowledge::phrase::{AnswerWord, Meaning};
use crate::knowledge::schema::YesNo;

/// Adds the answer to the question on the table.
pub fn answer(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    context: &Context,
    found: &mut Interpretation,
) {
    let heard = context.expecting == Some(Expecting::Heard);
    let asked = heard || context.expecting == Some(Expecting::YesNo) || !context.offered.is_empty();
    let words = text
        .tokens
        .iter()
        .filter(|token| matches!(token.what, What::Word(_) | What::Number(_)))
        .count();
    found.done = done(text, hits, scopes);
    let said = |hit: &Hit<'_>| {
        let Meaning::Answer(word) = hit.phrase.meaning else {
            return None;
        };
        if word == AnswerWord::Done || word == AnswerWord::Echo && says_more(text, hit) {
            return None;
        }
        if word == AnswerWord::No && is_of_more(text, hits, hit) {
            return None;
        }
        let sense = scopes.sense(Place::of(hit));
        if sense.supposed || sense.foreign {
            return None;
        }
        let plain = matches!(
            word,
            AnswerWord::Yes | AnswerWord::Echo | AnswerWord::No | AnswerWord::Unsure
        );
        let whole = hit.used.len() >= words;
        let counts = if plain {
            asked || whole || (word == AnswerWord::Unsure && context.expecting.is_some())
        } else {
            heard
        };
        let what = match (word, sense.negated && !plain) {
            (AnswerWord::Unsure, _) => Answer::Unsure,
            (AnswerWord::Yes | AnswerWord::Echo | AnswerWord::Heard, false)
            | (AnswerWord::Silent, true) => Answer::Yes,
            _ => Answer::No,
        };
        let placed = !plain || word == AnswerWord::Unsure || opens_clause(text, hit.head.start);
        (counts && placed).then(|| Said {
            what,
            span: span(text, hit),
            strength: sense.strength,
        })
    };
    let first = hits
        .iter()
        .find_map(|hit| said(hit).map(|answer| (hit, answer)));
    // "I don't know" begins like "I don't"
    let unsure = |first: &Hit<'_>| {
        let shares = |hit: &&Hit<'_>| hit.used.iter().any(|token| first.used.contains(token));
        hits.iter()
            .filter(shares)
            .filter_map(said)
            .find(|answer| answer.what == Answer::Unsure)
    };
    found.answer = first.map(|(hit, answer)| unsure(hit).unwrap_or(answer));
}

/// Whether a "no" is part of something longer that is no answer: "no smoking here", "no more questions".
fn is_of_more(text: &Text<'_>, hits: &[Hit<'_>], no: &Hit<'_>) -> bool {
    let mut assured = hits.iter().filter(|hit| hit.confirms());
    text.in_class(no.head.end, "no-of") || assured.any(|hit| hit.used.contains(&no.used[0]))
}

/// Whether the verb of the question goes on to say something of its own: "it was gone from the shelf".
fn says_more(text: &Text<'_>, hit: &Hit<'_>) -> bool {
    let mut rest = (hit.head.end..text.tokens.len())
        .take_while(|&at| !matches!(text.tokens[at].what, What::Mark(_)));
    rest.any(|at| !text.is_filler(at) && !text.in_class(at, "affirming"))
}

/// Where the message says that something was carried out: "done", "all back together".
fn done(text: &Text<'_>, hits: &[Hit<'_>], scopes: &Scopes<'_, '_>) -> Option<Span> {
    let said = hits.iter().find(|hit| {
        let sense = scopes.sense(Place::of(hit));
        hit.phrase.meaning == Meaning::Answer(AnswerWord::Done)
            && !(sense.supposed || sense.foreign || sense.negated)
            && opens_clause(text, hit.head.start)
    });
    said.map(|hit| span(text, hit))
}

/// Whether a token opens a clause, so that a "no" is an answer and not part of "no spark".
fn opens_clause(text: &Text<'_>, at: usize) -> bool {
    at == 0 || matches!(text.tokens[at - 1].what, What::Mark(_)) || text.in_class(at - 1, "joiner")
}

/// Adds the choice picked: by number, by what was said, in a word or two, by yes or no, or by the words of
/// its button.
pub fn pick(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    context: &Context,
    found: &mut Interpretation,
) {
    if context.offered.is_empty() {
        return;
    }
    let by_number = || numbered(text, context);
    let said = || {
        let seen = found
            .observations
            .iter()
            .find(|seen| context.offered.contains(&seen.what.outcome))?;
        Some(Said {
            what: seen.what.outcome.clone(),
            span: seen.span.clone(),
            strength: seen.strength,
        })
    };
    let in_short = || short(text, hits, scopes, context);
    let by_answer = || answered(text, context, found);
    let by_label = || labelled(text, context);
    let picked = by_number()
        .or_else(said)
        .or_else(in_short)
        .or_else(by_answer)
        .or_else(by_label);
    found.picked = picked;
}

/// Words that may stand beside a short answer: "it's set to on".
const BESIDE: usize = 1;

/// "On", "it's on".
fn short(
    text: &Text<'_>,
    hits: &[Hit<'_>],
    scopes: &Scopes<'_, '_>,
    context: &Context,
) -> Option<Said<OutcomeId>> {
    let others = |hit: &Hit<'_>| {
        let tokens = text.tokens.iter().enumerate();
        let other = |&(at, token): &(usize, &super::token::Token)| {
            matches!(token.what, What::Word(_) | What::Number(_))
                && !text.is_filler(at)
                && hit.used.binary_search(&at).is_err()
        };
        tokens.filter(other).count()
    };
    hits.iter().find_map(|hit| {
        let Meaning::Short(_, outcome) = &hit.phrase.meaning else {
            return None;
        };
        let sense = scopes.sense(Place::of(hit));
        let counts = context.offered.contains(outcome)
            && sense.asserted()
            && !sense.negated
            && others(hit) <= BESIDE;
        counts.then(|| Said {
            what: outcome.clone(),
            span: span(text, hit),
            strength: sense.strength,
        })
    })
}

/// "2", "option 2", "the second one".
fn numbered(text: &Text<'_>, context: &Context) -> Option<Said<OutcomeId>> {
    let (position, at) = counted(text, context.offered.len())?;
    Some(Said {
        what: context.offered[position].clone(),
        span: text.tokens[at].span.clone(),
        strength: 1.0,
    })
}

/// The place in a list of so many choices that all of a message names, from 0, and the token that does:
/// "2", "number two", "the second one".
#[must_use]
pub fn counted(text: &Text<'_>, most: usize) -> Option<(usize, usize)> {
    let hit = text.tokens.iter().enumerate().find_map(|(at, token)| {
        let value = match &token.what {
            What::Number(digits) if digits.decimals == 0 => digits.value?,
            What::Word(word) => text.phrases.numbers.order(&word.plain)?,
            _ => return None,
        };
        Some((at, value))
    });
    let (at, value) = hit?;
    let others = text.tokens.iter().enumerate().filter(|&(other, token)| {
        other != at
            && matches!(token.what, What::Word(_) | What::Number(_))
            && !text.is_filler(other)
            && !text.in_class(other, "choosing")
    });
    if others.count() > 0 {
        return None;
    }
    let position = (0..most).find(|&position| {
        f64::from(u32::try_from(position + 1).unwrap_or(0))
            .total_cmp(&value)
            .is_eq()
    })?;
    Some((position, at))
}

fn answered(text: &Text<'_>, context: &Context, found: &Interpretation) -> Option<Said<OutcomeId>> {
    let answer = found.answer.as_ref()?;
    let wanted = match answer.what {
        Answer::Yes => YesNo::Yes,
        Answer::No => YesNo::No,
        Answer::Unsure => return None,
    };
    let mut fitting = context
        .offered
        .iter()
        .filter(|id| text.phrases.answers.get(id.as_str()) == Some(&wanted));
    let (only, none) = (fitting.next()?, fitting.next());
    none.is_none().then(|| Said {
        what: only.clone(),
        span: answer.span.clone(),
        strength: answer.strength,
    })
}

/// The choice whose words the message shares most of, if no other comes near.
fn labelled(text: &Text<'_>, context: &Context) -> Option<Said<OutcomeId>> {
    let ids: Vec<_> = text
        .tokens
        .iter()
        .filter_map(super::token::Token::id)
        .collect();
    let mut scores: Vec<(f64, &OutcomeId)> = context
        .offered
        .iter()
        .map(|id| {
            let label = text
                .phrases
                .labels
                .get(id.as_str())
                .map_or(&[][..], Vec::as_slice);
            let telling: Vec<_> = label
                .iter()
                .filter(|word| !text.phrases.classes.is_filler(**word))
                .collect();
            let shared = telling.iter().filter(|word| ids.contains(word)).count();
            let share = f64::from(u32::try_from(shared).unwrap_or(0))
                / f64::from(u32::try_from(telling.len().max(1)).unwrap_or(1));
            (share, id)
        })
        .collect();
    scores.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (best, id) = *scores.first()?;
    let next = scores.get(1).map_or(0.0, |score| score.0);
    let span = text.tokens.first()?.span.start..text.tokens.last()?.span.end;
    (best >= 0.6 && best - next >= 0.2).then(|| Said {
        what: id.clone(),
        span,
        strength: 0.8,
    })
}
