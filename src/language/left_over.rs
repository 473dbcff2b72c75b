//! The stretches of a message that nothing claimed.

use super::interpretation::{Interpretation, Span};
use super::matching::{Hit, Text};
use super::normalise::LONGEST;
use crate::knowledge::phrase::Meaning;

/// Sentences of which nothing was understood, and what lies beyond the longest message read.
#[must_use]
pub fn left_over(
    text: &str,
    message: &Text<'_>,
    hits: &[Hit<'_>],
    found: &Interpretation,
) -> Vec<Span> {
    let mut spans = Vec::new();
    for (at, sentence) in message.sentences.iter().enumerate() {
        let tokens = &message.tokens[sentence.tokens.clone()];
        let (Some(first), Some(last)) = (tokens.first(), tokens.last()) else {
            continue;
        };
        let span = first.span.start..last.span.end;
        let spoken = tokens.iter().any(|token| token.plain().is_some());
        let said = hits.iter().any(|hit| {
            hit.sentence == at
                && !matches!(
                    hit.phrase.meaning,
                    Meaning::Cue(_) | Meaning::Thing(_) | Meaning::Role(_)
                )
        });
        let read = found
            .readings
            .iter()
            .any(|reading| span.contains(&reading.span.start));
        if spoken && !said && !read {
            spans.push(span);
        }
    }
    if text.len() > LONGEST {
        spans.push(LONGEST..text.len());
    }
    spans
}
