//! The stretches of a message that nothing claimed.

use super::interpretation::{Interpretation, Span};
use super::matching::{Hit, Text};
use crate::knowledge::phrase::Meaning;

/// Sentences of which nothing was understood.
#[must_use]
pub fn left_over(message: &Text<'_>, hits: &[Hit<'_>], found: &Interpretation) -> Vec<Span> {
    let mut spans = Vec::new();
    let mut hits = hits
        .chunk_by(|one, next| one.sentence == next.sentence)
        .peekable();
    for (at, sentence) in message.sentences.iter().enumerate() {
        let here = hits.next_if(|chunk| chunk[0].sentence == at).unwrap_or(&[]);
        let tokens = &message.tokens[sentence.tokens.clone()];
        let (Some(first), Some(last)) = (tokens.first(), tokens.last()) else {
            continue;
        };
        let span = first.span.start..last.span.end;
        let spoken = tokens.iter().any(|token| token.plain().is_some());
        let said = here.iter().any(|hit| {
            !matches!(
                hit.phrase.meaning,
                Meaning::Cue(_)
                    | Meaning::Thing(_)
                    | Meaning::Role(_)
                    | Meaning::Condition { .. }
                    | Meaning::Assent(_)
                    | Meaning::Short(..)
            )
        });
        let next = found
            .readings
            .partition_point(|reading| reading.span.start < span.start);
        let read = found
            .readings
            .get(next)
            .is_some_and(|reading| span.contains(&reading.span.start));
        if spoken && !said && !read {
            spans.push(span);
        }
    }
    spans
}
