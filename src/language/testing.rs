//! Runs one message as far as the stages that need phrases, for the tables of their tests.

use super::matching::{Hit, Text};
use super::normalise::normalise;
use super::number::numbers;
use super::quantity::quantities;
use super::scope::Scopes;
use super::sentence::sentences;
use super::token::tokens;
use crate::knowledge::Knowledge;
use crate::knowledge::phrase::Phrases;
use std::sync::OnceLock;

/// The phrases inside the program.
fn phrases() -> &'static Phrases {
    static PHRASES: OnceLock<Phrases> = OnceLock::new();
    PHRASES.get_or_init(|| Knowledge::embedded().phrases)
}

/// What `look` makes of a message.
pub fn read<T>(message: &str, look: impl Fn(&Text<'_>, &[Hit<'_>], &Scopes<'_, '_>) -> T) -> T {
    let phrases = phrases();
    let tokens = tokens(&normalise(message), &phrases.words);
    let quantities = quantities(&tokens, &numbers(&tokens, &phrases.numbers), phrases);
    let sentences = sentences(&tokens, &phrases.classes);
    let text = Text::new(&tokens, &quantities, &sentences, phrases);
    let hits = text.hits();
    look(&text, &hits, &Scopes::new(&text, &hits))
}
