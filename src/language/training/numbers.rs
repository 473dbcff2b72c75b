//! Which numbers and displays of the labelled messages are readings.

use super::network::{self, Course, Example, Part, Sense};
use super::{Message, Number, plane};
use crate::knowledge::classifier::{Claim, OF_NUMBERS, of_numbers_along};
use crate::knowledge::phrase::{DisplayWord, Phrases};
use crate::knowledge::recurrent::Shape;
use crate::language::interpret::{Figure, figures, numbers_along};
use crate::language::interpretation::Special;
use crate::language::owner::LEADS;
use crate::language::quantity::Quantity;
use crate::quantity::Kind;
use std::collections::BTreeSet;

/// What a number without a unit may be multiplied by, to be what it was labelled as: milli, kilo and
/// mega, minutes, bar, and pounds-force per square inch (NIST SP 811).
const FACTORS: [f64; 7] = [1.0, 1e-3, 1e3, 1e6, 60.0, 100.0, 6.894_757];

/// How far a labelled value may be rounded.
const ROUNDED: f64 = 2e-3;

/// The table of which numbers are readings, as text; none where no message is labelled with one, or none
/// holds a number that is none.
#[must_use]
pub fn train(messages: &[Message], phrases: &Phrases) -> Option<String> {
    let mut signs: Vec<BTreeSet<String>> = Vec::new();
    let mut told: Vec<Told> = Vec::new();
    for message in messages
        .iter()
        .filter(|message| message.speaks_of(&Claim::Reading))
    {
        for (around, figure) in figures(&message.text, message.expecting, phrases) {
            told.push(match figure {
                Figure::Number(quantity) => message.tells(&quantity, phrases),
                Figure::Display(shown) if message.shows(shown) => Told::Display,
                Figure::Display(_) => Told::Nothing,
            });
            signs.push(around);
        }
    }
    let is = |one: &Told| *one != Told::Nothing;
    let side = |nth: usize, at: usize| told[at].side(&OF_NUMBERS[nth]);
    (told.iter().any(is) && !told.iter().all(is)).then(|| plane::table(&signs, &OF_NUMBERS, side))
}

/// The network that reads along and tells which numbers are readings, as text; none where no message is
/// labelled with one, or none holds a number that is none.
#[must_use]
pub fn train_along(
    messages: &[Message],
    phrases: &Phrases,
    senses: &[Sense],
    course: &Course<Shape>,
) -> Option<String> {
    let labelled = messages
        .iter()
        .filter(|message| message.speaks_of(&Claim::Reading));
    let examples: Vec<Example> = labelled
        .map(|message| message.along(phrases))
        .filter(|example| !example.parts.is_empty())
        .collect();
    let sides = || examples.iter().flat_map(|example| &example.parts);
    let some = |side| sides().any(|part| part.sides[0] == Some(side));
    (some(true) && some(false))
        .then(|| network::train_recurrent(&examples, &of_numbers_along(), senses, course).written())
}

/// What a figure of a message is labelled as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Told {
    /// No reading.
    Nothing,
    /// A number that is a reading, and where it has no unit of its own, of what.
    Number { of_leads: bool, bare: Option<Kind> },
    /// A display that is one.
    Display,
}

impl Told {
    /// On which side of a claim it lies, where that is known.
    fn side(self, claim: &Claim) -> Option<bool> {
        match (claim, self) {
            (Claim::Leads, Self::Number { of_leads, .. }) => Some(of_leads),
            (Claim::Of(kind), Self::Number { bare, .. }) => bare.map(|bare| bare == *kind),
            (Claim::Leads | Claim::Of(_), _) => None,
            (_, told) => Some(told != Self::Nothing),
        }
    }
}

impl Message {
    /// Whether one of its readings is such a display, with or without a sound.
    fn shows(&self, shown: DisplayWord) -> bool {
        let overload = matches!(shown, DisplayWord::Overload | DisplayWord::Lone);
        let all = self.readings.iter().filter_map(|reading| reading.special);
        let mut all = all.map(|special| special == Special::Overload);
        all.any(|special| special == overload)
    }

    /// Its words, and of each of its numbers what it tells.
    fn along(&self, phrases: &Phrases) -> Example {
        let (along, quantities) = numbers_along(&self.text, self.expecting, phrases);
        let mut starts = vec![0];
        for part in &along.parts {
            starts.push(starts[starts.len() - 1] + part.len());
        }
        let claims = of_numbers_along();
        let told = |(at, quantity): (&usize, &Quantity)| {
            let told = self.tells(quantity, phrases);
            Part {
                words: starts[*at]..starts[at + 1],
                sides: claims.iter().map(|claim| told.side(claim)).collect(),
            }
        };
        Example {
            parts: along.numbers.iter().zip(&quantities).map(told).collect(),
            words: along.parts.concat(),
            sides: Vec::new(),
        }
    }

    /// Which of its readings a number is.
    fn tells(&self, quantity: &Quantity, phrases: &Phrases) -> Told {
        let unit = quantity.unit.map(|unit| phrases.units.unit(unit));
        let reading = self.readings.iter().find(|reading| {
            let fits = |value: f64| {
                let Some(unit) = unit else {
                    return reading.may_be_bare(value);
                };
                unit.kind == reading.quantity && reading.holds(unit.to_base(value))
            };
            let values = [Some(quantity.value), quantity.upper, quantity.otherwise];
            values.into_iter().flatten().any(fits)
        });
        reading.map_or(Told::Nothing, |reading| Told::Number {
            of_leads: reading.of.as_deref() == Some(LEADS),
            bare: unit.is_none().then_some(reading.quantity),
        })
    }
}

impl Number {
    /// Whether it may have been said as a number without its unit.
    fn may_be_bare(&self, value: f64) -> bool {
        let fahrenheit = (value - 32.0) / 1.8;
        let warm = self.quantity == Kind::Temperature && self.holds(fahrenheit);
        warm || FACTORS.iter().any(|factor| self.holds(factor * value))
    }

    fn holds(&self, value: f64) -> bool {
        let near = |told: f64| (told - value).abs() <= ROUNDED * told.abs().max(1e-9);
        let told = [self.value, self.low, self.high];
        told.into_iter().flatten().any(near)
    }
}
