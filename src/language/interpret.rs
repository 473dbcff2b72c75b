//! The straight line from a message to what it says.

use super::interpretation::{Context, Interpretation};
use super::matching::{Hit, Text};
use super::number::numbers;
use super::quantity::quantities;
use super::scope::Scopes;
use super::sentence::sentences;
use super::{
    answer, assent, circumstance, cry, display, left_over, meter, normalise, reading, statement,
    token,
};
use crate::knowledge::phrase::Phrases;

/// Reads one message. Never fails; what nothing claimed is in `left_over`.
#[must_use]
pub fn interpret(text: &str, context: &Context, phrases: &Phrases) -> Interpretation {
    let tokens = token::tokens(&normalise::normalise(text), &phrases.words);
    let tokens = cry::set_apart(tokens, &phrases.classes);
    let numbers = numbers(&tokens, &phrases.numbers);
    let quantities = quantities(&tokens, &numbers, phrases);
    let sentences = sentences(&tokens);
    let message = Text::new(&tokens, &quantities, &sentences, phrases);
    let hits: Vec<Hit<'_>> = message.hits();
    let scopes = Scopes::new(&message, &hits);
    let mut found = Interpretation {
        meter: meter::meter(&message),
        ..Interpretation::default()
    };
    reading::readings(&message, &hits, &scopes, context, &mut found);
    display::displays(&message, &hits, &scopes, context, &mut found);
    statement::statements(&message, &hits, &scopes, &mut found);
    circumstance::circumstances(&message, &hits, &scopes, &mut found);
    answer::answer(&message, &hits, &scopes, context, &mut found);
    answer::pick(&message, &hits, &scopes, context, &mut found);
    assent::assent(&message, &hits, &scopes, &mut found);
    found.readings.sort_by_key(|said| said.span.start);
    found.left_over = left_over::left_over(&message, &hits, &found);
    found.cut = normalise::cut(text);
    found
}
