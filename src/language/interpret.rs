//! The straight line from a message to what it says.

use super::classify::Cut;
use super::interpretation::{Context, Expecting, Interpretation, Reading, Said};
use super::matching::{Hit, Text};
use super::quantity::{Quantity, quantities};
use super::role::along::{Along, along};
use super::role::around::{MOST, around, around_display};
use super::role::candidates;
use super::scope::Scopes;
use super::sentence::sentences;
use super::trace::{Traced, traces};
use super::{
    answer, assent, circumstance, classify, cry, display, left_over, meter, normalise, number,
    reading, statement, token,
};
use crate::knowledge::phrase::{DisplayWord, Meaning, Phrases};
use std::collections::BTreeSet;

/// Reads one message. Never fails; what nothing claimed is in `left_over`.
#[must_use]
pub fn interpret(text: &str, context: &Context, phrases: &Phrases) -> Interpretation {
    searched(text, phrases, |message, hits, scopes| {
        let mut found = Interpretation {
            meter: meter::meter(message),
            ..Interpretation::default()
        };
        reading::readings(message, hits, scopes, context, &mut found);
        display::displays(message, hits, scopes, context, &mut found);
        statement::statements(message, hits, scopes, &mut found);
        classify::weigh(message, scopes, &mut found);
        circumstance::circumstances(message, hits, scopes, &mut found);
        answer::answer(message, hits, scopes, context, &mut found);
        answer::pick(message, hits, scopes, context, &mut found);
        assent::assent(message, hits, scopes, &mut found);
        // of "fuse beeps, switch doesn't" the first is told by the shorter
        let place = |said: &Said<Reading>| (said.span.start, said.span.end);
        found.readings.sort_by_key(place);
        found.left_over = left_over::left_over(message, hits, &found);
        found.cut = normalise::cut(text);
        found
    })
}

/// The phrases one message is read by, for those who write them.
#[must_use]
pub fn traced(text: &str, phrases: &Phrases) -> Vec<Traced> {
    searched(text, phrases, |message, hits, scopes| {
        traces(message, text, hits, scopes)
    })
}

/// One message sentence by sentence, as the learned tables and networks meet it.
#[must_use]
pub fn cut(text: &str, phrases: &Phrases) -> Vec<Cut> {
    searched(text, phrases, |message, _, _| classify::cut(message))
}

/// Which of so many choices, from 0, a message picks by its number and says nothing else.
#[must_use]
pub fn counted(text: &str, most: usize, phrases: &Phrases) -> Option<usize> {
    searched(text, phrases, |message, _, _| {
        answer::counted(message, most).map(|(place, _)| place)
    })
}

/// A number or a display of a message.
#[derive(Debug, Clone, PartialEq)]
pub enum Figure {
    /// A number, perhaps with its unit.
    Number(Quantity),
    /// What a meter shows that is no number.
    Display(DisplayWord),
}

/// The numbers and displays of one message, each with the signs it is weighed by.
#[must_use]
pub fn figures(
    text: &str,
    asked: Option<Expecting>,
    phrases: &Phrases,
) -> Vec<(BTreeSet<String>, Figure)> {
    searched(text, phrases, |message, hits, _| {
        let numbers = message.quantities.iter().take(MOST).enumerate();
        let numbers = numbers.map(|(at, quantity)| {
            let number = Figure::Number(quantity.clone());
            (around(message, at, asked), number)
        });
        let displays = hits.iter().filter_map(|hit| match hit.phrase.meaning {
            Meaning::Display(shown) if shown != DisplayWord::Setting => {
                let signs = around_display(message, &hit.head, shown, asked);
                Some((signs, Figure::Display(shown)))
            }
            _ => None,
        });
        numbers.chain(displays.take(MOST)).collect()
    })
}

/// The numbers of one message, and its words as a [`Recurrent`](crate::knowledge::recurrent::Recurrent)
/// meets them.
#[must_use]
pub fn numbers_along(
    text: &str,
    asked: Option<Expecting>,
    phrases: &Phrases,
) -> (Along, Vec<Quantity>) {
    searched(text, phrases, |message, hits, scopes| {
        let candidates = candidates(message, hits, scopes);
        let along = along(message, &candidates, asked);
        (along, message.quantities.to_vec())
    })
}

/// What `read` makes of the message, once it is cut up and searched.
fn searched<T>(
    text: &str,
    phrases: &Phrases,
    read: impl FnOnce(&Text<'_>, &[Hit<'_>], &Scopes<'_, '_>) -> T,
) -> T {
    let tokens = token::tokens(&normalise::normalise(text), &phrases.words);
    let tokens = cry::set_apart(tokens, &phrases.classes);
    let numbers = number::numbers(&tokens, &phrases.numbers);
    let quantities = quantities(&tokens, &numbers, phrases);
    let sentences = sentences(&tokens, &phrases.classes);
    let message = Text::new(&tokens, &quantities, &sentences, phrases);
    let hits: Vec<Hit<'_>> = message.hits();
    let message = message.without_figures(&hits);
    read(&message, &hits, &Scopes::new(&message, &hits))
}
