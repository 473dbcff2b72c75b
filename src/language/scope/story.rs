//! What one sentence of a story says about the next: whose bike it is about, and what is over.

use super::Found;
use crate::knowledge::phrase::Cue;
use crate::language::matching::Text;
use crate::language::token::What;
use std::ops::Range;

/// By sentence: whether it goes on about another vehicle.
pub fn whose(text: &Text<'_>, cues: &[Vec<Found>]) -> Vec<bool> {
    let mut foreign = false;
    let mut all = Vec::new();
    for (at, sentence) in text.sentences.iter().enumerate() {
        let tokens = || sentence.tokens.clone();
        let told_as_past = tokens().any(|token| text.in_class(token, "was"));
        let now = tokens().any(|token| text.in_class(token, "now"));
        foreign = foreign && told_as_past && !now;
        all.push(foreign);
        let last = cues[at]
            .iter()
            .filter(|cue| matches!(cue.cue, Cue::OtherBike | Cue::OwnBike))
            .max_by_key(|cue| cue.range.start);
        foreign = last.map_or(foreign, |cue| cue.cue == Cue::OtherBike);
    }
    all
}

/// By sentence: whether the next sentence says only that this is over, in other words than of a class.
pub fn over(text: &Text<'_>, cues: &[Vec<Found>], told: &[bool], but: Option<&str>) -> Vec<bool> {
    let counts = |cue: &&Found| {
        let in_other_words = but.is_none_or(|class| !text.in_class(cue.range.start, class));
        cue.cue == Cue::Resolved && in_other_words
    };
    (0..text.sentences.len())
        .map(|at| {
            let next = at + 1;
            cues.get(next).is_some_and(|cues| {
                let start = text.sentences[next].tokens.start;
                let early = cues
                    .iter()
                    .filter(counts)
                    .any(|cue| cue.range.start <= start + 3);
                let again = text.sentences[next]
                    .tokens
                    .clone()
                    .any(|token| text.in_class(token, "again"));
                let denied = is_denied(text, &text.sentences[at].tokens);
                denied || (early && !told[next] && !again)
            })
        })
        .collect()
}

/// "The tap drips? No, it is water from the wash.": a question that the next sentence denies. "Petrol
/// runs over the floor, is that bad? No smell yet" denies nothing.
#[must_use]
pub fn is_denied(text: &Text<'_>, tokens: &Range<usize>) -> bool {
    let answer = tokens.end;
    let asks = text.tokens[answer - 1].is('?') && text.in_class(answer, "denial");
    let plain = !tokens.clone().any(|at| text.tokens[at].is(','));
    let by_itself = text.tokens.get(answer + 1).is_none_or(|next| {
        matches!(next.what, What::Mark(_)) || text.in_class(answer + 1, "subject")
    });
    asks && plain && by_itself
}

/// By sentence: whether it is a question to others that the next sentence answers for the rider's own
/// bike, as in "Anyone had theirs lose power uphill? Mine does."
pub fn echoed(text: &Text<'_>) -> Vec<bool> {
    let next = |at: usize| text.sentences.get(at + 1);
    let echoes = |at| next(at).is_some_and(|next| text.in_class(next.tokens.start, "echo"));
    (0..text.sentences.len())
        .map(|at| text.sentences[at].asks && echoes(at))
        .collect()
}
