//! A "no" that is cried out denies nothing: "oh no fuel is running out" stands as "oh no, fuel is ...".

use super::token::{Token, What};
use crate::knowledge::phrase::class::Classes;

/// The class of such cries.
const CRY: &str = "cry";

/// The tokens with a comma of no width after every cry that has none.
#[must_use]
pub fn set_apart(tokens: Vec<Token>, classes: &Classes) -> Vec<Token> {
    let mut ends = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let long = cry(&tokens[at..], classes);
        at += long.max(1);
        let marked = tokens
            .get(at)
            .is_none_or(|next| matches!(next.what, What::Mark(_)));
        if long > 0 && !marked {
            ends.push(at);
        }
    }
    let mut apart = Vec::with_capacity(tokens.len() + ends.len());
    let mut ends = ends.into_iter().peekable();
    for (at, token) in tokens.into_iter().enumerate() {
        if ends.next_if_eq(&at).is_some() {
            let here = token.span.start;
            apart.push(Token {
                what: What::Mark(','),
                span: here..here,
                glued: true,
            });
        }
        apart.push(token);
    }
    apart
}

/// How many tokens the longest cry at the beginning takes; none is 0.
fn cry(tokens: &[Token], classes: &Classes) -> usize {
    let mut longest = 0;
    classes.walk(
        |ahead| tokens.get(ahead)?.id(),
        |class, length| {
            if classes.name(class) == CRY {
                longest = longest.max(length);
            }
        },
    );
    longest
}
