//! A message as the network that reads along for its numbers takes it.

use super::around::question;
use super::owned::{compares, owned};
use super::{Candidate, Elapsed};
use crate::language::interpretation::Expecting;
use crate::language::matching::Text;
use crate::language::quantity::Quantity;

/// Of a message with more words and signs than this no number is weighed so, that reading stays linear.
pub const MOST_TOKENS: usize = 600;

/// The words of a message in parts, and which part is each of its numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Along {
    /// What was asked, then words and signs in their order; each number is a part of its own, told by its
    /// unit, its size, and what phrases say of it.
    pub parts: Vec<Vec<String>>,
    /// By number.
    pub numbers: Vec<usize>,
}

/// A message as such a network takes it; nothing of one that is too long.
#[must_use]
pub fn along(text: &Text<'_>, candidates: &[Candidate], asked: Option<Expecting>) -> Along {
    if text.tokens.len() > MOST_TOKENS {
        return Along::default();
    }
    let asked = asked.map_or("nothing", question);
    let mut found = Along {
        parts: vec![vec![format!("asked {asked}")]],
        numbers: Vec::new(),
    };
    let compares = compares(text);
    let mut start = 0;
    for (quantity, candidate) in text.quantities.iter().zip(candidates) {
        let before = start..quantity.tokens.start.max(start);
        found.parts.push(before.map(|at| text.sign(at)).collect());
        found.numbers.push(found.parts.len());
        let own = [
            number(text, quantity, asked),
            role(text, candidate, compares),
        ];
        found.parts.push(own.concat());
        start = quantity.tokens.end;
    }
    let rest = (start..text.tokens.len()).map(|at| text.sign(at));
    found.parts.push(rest.collect());
    found
}

/// What a number is by itself: how it is said, its size, and its value where that is whole.
fn number(text: &Text<'_>, quantity: &Quantity, asked: &str) -> Vec<String> {
    const SMALL: f64 = 10_000.0;
    let unit = quantity.unit.map(|unit| text.phrases.units.unit(unit));
    let kind = unit.map_or("bare", |unit| unit.kind.unit());
    let said = [
        (quantity.upper.is_some(), "range"),
        (quantity.article, "article"),
        (quantity.spelt, "spelt"),
        (quantity.clock, "clock"),
    ];
    let said = said.into_iter().filter(|(is, _)| *is);
    let said: Vec<&str> = [kind].into_iter().chain(said.map(|(_, how)| how)).collect();
    let value = quantity.value.abs();
    let decimals = quantity.decimals.map_or(9, |digits| digits.min(3));
    let exact = quantity.is_whole() && value < SMALL;
    vec![
        format!("asked {asked} {kind}"),
        format!("said {}", said.join(" ")),
        format!("size {decimals} {value:.0e}"),
        if exact {
            format!("is {value}")
        } else {
            "is broken".to_owned()
        },
    ]
}

/// What phrases say of a number, in a message that compares bikes or does not.
fn role(text: &Text<'_>, candidate: &Candidate, compares: bool) -> Vec<String> {
    let named = |said: &[(bool, &str)]| {
        let said = said.iter().filter(|(is, _)| *is);
        said.map(|(_, name)| *name).collect::<Vec<_>>().join(" ")
    };
    let sense = candidate.sense;
    let of = owned(text, &text.quantities[candidate.at].tokens);
    vec![
        "role ".to_owned()
            + &named(&[
                (candidate.excluded, "excluded"),
                (candidate.claimed, "claimed"),
                (candidate.spec, "spec"),
                (candidate.range, "range"),
                (candidate.replaced, "replaced"),
                (candidate.elapsed == Some(Elapsed::Lapse), "lapse"),
                (candidate.elapsed == Some(Elapsed::Wait), "wait"),
            ]),
        "sense ".to_owned()
            + &named(&[
                (sense.foreign, "foreign"),
                (sense.negated, "negated"),
                (sense.supposed, "supposed"),
                (sense.conditional, "conditional"),
            ]),
        of.map_or("of nobody".to_owned(), |of| {
            format!("of {:?} {compares}", of.owner)
        }),
    ]
}

#[cfg(test)]
mod tests {
    use super::{MOST_TOKENS, along};
    use crate::language::interpretation::Expecting;
    use crate::language::role::candidates;
    use crate::language::testing::read;
    use crate::quantity::Kind;

    #[test]
    fn each_number_is_a_part_of_its_own() {
        let asked = Some(Expecting::Quantity(Kind::Voltage));
        let found = read("got 12.6 volts, the book says 13.", |text, hits, scopes| {
            along(text, &candidates(text, hits, scopes), asked)
        });
        assert_eq!(found.numbers, [2, 4]);
        assert_eq!(found.parts[0], ["asked V"]);
        assert_eq!(found.parts[1], ["got"]);
        let own = ["asked V V", "said V", "size 1 1e1", "is broken"];
        assert_eq!(found.parts[2][..4], own);
        assert_eq!(found.parts[3], [",", "the", "book", "says"]);
        let own = ["asked V bare", "said bare", "size 0 1e1", "is 13"];
        assert_eq!(found.parts[4][..4], own);
        assert!(found.parts[4][4].contains("spec"), "{:?}", found.parts[4]);
        assert_eq!(found.parts[5], ["."]);
    }

    #[test]
    fn a_message_without_numbers_or_with_too_many_words_has_none() {
        let read = |said: &str| {
            read(said, |text, hits, scopes| {
                along(text, &candidates(text, hits, scopes), None)
            })
        };
        assert_eq!(read("it dies").numbers, [0; 0]);
        assert_eq!(read(&"12 V ".repeat(MOST_TOKENS)).numbers, [0; 0]);
    }
}
