//! Where sentences end.

use super::token::{Token, What};
use crate::knowledge::phrase::class::Classes;
use std::ops::Range;

/// Tokens of the longest sentence; a longer run of words is cut, which keeps reading linear.
const LONGEST: usize = 160;
/// A line break after a line of this many bytes is only where the typing wrapped.
const WRAPPED: usize = 50;

/// A sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sentence {
    /// Its tokens, closing marks included.
    pub tokens: Range<usize>,
    /// Whether it ends in a question mark.
    pub asks: bool,
}

/// Every sentence of a message, in order, covering all tokens.
#[must_use]
pub fn sentences(tokens: &[Token], classes: &Classes) -> Vec<Sentence> {
    let mut found = Vec::new();
    let (mut start, mut line) = (0, 0);
    for at in 0..tokens.len() {
        let long = at + 1 - start >= LONGEST;
        if long || ends(tokens, classes, at, line) {
            let asks = tokens[at].is('?');
            found.push(Sentence {
                tokens: start..at + 1,
                asks,
            });
            start = at + 1;
        }
        if tokens[at].is('\n') {
            line = tokens[at].span.end;
        }
    }
    if start < tokens.len() {
        found.push(Sentence {
            tokens: start..tokens.len(),
            asks: false,
        });
    }
    found
}

fn ends(tokens: &[Token], classes: &Classes, at: usize, line: usize) -> bool {
    match tokens[at].what {
        What::Mark('!' | '?') => !tokens
            .get(at + 1)
            .is_some_and(|next| next.is('!') || next.is('?')),
        What::Mark(';') => true,
        What::Mark('.') => {
            tokens
                .get(at + 1)
                .is_none_or(|next| !next.glued || !next.is('?'))
                && !abbreviates(tokens, classes, at)
                && !floats(tokens, at)
        }
        What::Mark('\n') => !wraps(tokens, at, line),
        _ => false,
    }
}

/// "approx. 12 V", "no. 5", "e.g. this".
fn abbreviates(tokens: &[Token], classes: &Classes, at: usize) -> bool {
    let Some(before) = at.checked_sub(1) else {
        return false;
    };
    let is = |class| classes.longest(class, |ahead| tokens.get(before + ahead)?.id()) == Some(1);
    let number_next = matches!(
        tokens.get(at + 1).map(|next| &next.what),
        Some(What::Number(_))
    );
    let letter = tokens[before]
        .plain()
        .is_some_and(|plain| plain.chars().count() == 1);
    let letters = letter && tokens.get(at + 1).is_some_and(|next| next.glued);
    letters || number_next && is("abbreviation") || is("for-example")
}

/// A point that stands alone before a small letter, as in the display `1 .`.
fn floats(tokens: &[Token], at: usize) -> bool {
    let small = matches!(tokens.get(at + 1).map(|next| &next.what), Some(What::Word(word)) if word.raw.starts_with(char::is_lowercase));
    let number = at > 0 && matches!(tokens[at - 1].what, What::Number(_));
    small && number && !tokens[at].glued
}

/// A line break in the middle of a sentence, put there by the width of a screen.
fn wraps(tokens: &[Token], at: usize, line: usize) -> bool {
    let long = tokens[at].span.start.saturating_sub(line) >= WRAPPED;
    let goes_on = matches!(tokens.get(at + 1).map(|next| &next.what), Some(What::Word(word)) if word.raw.starts_with(char::is_lowercase));
    long && goes_on
}
