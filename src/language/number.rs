//! Numbers in digits and in words: `12.4`, `4k7`, `3 1/2`, "twelve point six", "half".
//!
//! | written | value |
//! | --- | --- |
//! | `12.4`, `-12.4`, `12 point 4` | 12.4, -12.4, 12.4 |
//! | `4R7`, `1k2`, `12V6` | 4.7, 1.2 with the code `k`, 12.6 |
//! | `3 1/2`, "three and a half" | 3.5 |
//! | `4.7k`, "fifteen k" | 4700, 15000 |
//! | "twelve six", "eleven point oh five" | 12.6, 11.05 |
//! | "two hundred and fifty" | 250 |

mod spelt;
mod typed;

use super::token::{Token, What};
use crate::knowledge::phrase::{NumberWord, NumberWords};
use std::ops::Range;

/// A number without its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// The tokens it is made of.
    pub tokens: Range<usize>,
    /// Its value.
    pub value: f64,
    /// Digits after the point; none for words and fractions.
    pub decimals: Option<u32>,
    /// A letter that stands for the point and names the unit: the `k` of `4k7`.
    pub code: Option<char>,
    /// Whether "of a" may stand between it and its unit: "half a litre".
    pub part: bool,
    /// Its value if its comma or point is the other kind of separator after all.
    pub otherwise: Option<f64>,
    /// What the typed digits were multiplied by: 1000 in `4.7k`.
    pub scale: f64,
    /// Whether that was said with a letter, which need not be followed by a unit.
    pub kilo: bool,
    /// Whether it is spelt out.
    pub spelt: bool,
}

/// Every number of a message, in order.
#[must_use]
pub fn numbers(tokens: &[Token], words: &NumberWords) -> Vec<Number> {
    let reader = Reader { tokens, words };
    let mut found = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        match reader.number(at) {
            Some(number) => {
                at = number.tokens.end;
                found.push(number);
            }
            None => at += 1,
        }
    }
    found
}

struct Reader<'a> {
    tokens: &'a [Token],
    words: &'a NumberWords,
}

/// What has been read of a number so far.
#[derive(Debug, Clone, Copy)]
struct Part {
    end: usize,
    value: f64,
    decimals: Option<u32>,
    scale: f64,
}

impl Part {
    /// A number said in words or as a fraction, which has no last digit.
    fn rough(end: usize, value: f64) -> Self {
        Self {
            end,
            value,
            decimals: None,
            scale: 1.0,
        }
    }
}

impl Reader<'_> {
    fn word(&self, at: usize) -> Option<NumberWord> {
        self.words.find(self.tokens.get(at)?.plain()?)
    }

    fn digits(&self, at: usize) -> Option<(f64, u32)> {
        match &self.tokens.get(at)?.what {
            What::Number(digits) => digits.value.map(|value| (value, digits.decimals)),
            _ => None,
        }
    }

    fn integer(&self, at: usize) -> Option<f64> {
        self.digits(at)
            .filter(|&(_, decimals)| decimals == 0)
            .map(|(value, _)| value)
    }

    /// The figures of a whole number as they are typed.
    fn figures(&self, at: usize) -> Option<&str> {
        match &self.tokens.get(at)?.what {
            What::Number(digits) if digits.decimals == 0 => Some(&digits.text),
            _ => None,
        }
    }

    fn is_mark(&self, at: usize, mark: char) -> bool {
        self.tokens.get(at).is_some_and(|token| token.is(mark))
    }

    fn glued(&self, at: usize) -> bool {
        self.tokens.get(at).is_some_and(|token| token.glued)
    }

    fn number(&self, at: usize) -> Option<Number> {
        if let Some(sign) = self.sign(at) {
            let mut number = self.unsigned(sign)?;
            number.tokens.start = at;
            number.value = -number.value;
            return Some(number);
        }
        self.unsigned(at)
    }

    /// The place after a minus sign.
    fn sign(&self, at: usize) -> Option<usize> {
        let dash = self.is_mark(at, '-') && self.glued(at + 1) && self.digits(at + 1).is_some();
        let begins =
            !self.glued(at) || at == 0 || matches!(self.tokens[at - 1].what, What::Mark(_));
        let after_number = at > 0 && matches!(self.tokens[at - 1].what, What::Number(_));
        let pole = at > 0 && self.word(at - 1) == Some(NumberWord::Poled);
        let spoken = self.word(at) == Some(NumberWord::Minus) && !pole && !self.takes_away(at);
        (spoken || (dash && begins && !after_number)).then_some(at + 1)
    }

    /// "2.2 ohms minus 0.2": one number taken from another, not one below zero.
    fn takes_away(&self, at: usize) -> bool {
        let number = |back: usize| {
            let before = at.checked_sub(back).map(|before| &self.tokens[before].what);
            matches!(before, Some(What::Number(_)))
        };
        let after_unit = at > 0 && self.tokens[at - 1].plain().is_some() && number(2);
        let of_something = self.word(at + 2) == Some(NumberWord::From);
        number(1) || after_unit || of_something
    }

    fn unsigned(&self, at: usize) -> Option<Number> {
        if self.digits(at).is_some() {
            return self.coded(at).or_else(|| self.in_digits(at));
        }
        let part = self.spelt(at)?;
        let fraction = matches!(self.word(part.end - 1), Some(NumberWord::Fraction(_)));
        Some(Number {
            part: fraction,
            spelt: true,
            ..self.made(at, part)
        })
    }

    /// The plainest number of a part.
    fn made(&self, at: usize, part: Part) -> Number {
        Number {
            tokens: at..part.end,
            value: part.value,
            decimals: part.decimals,
            code: None,
            part: false,
            otherwise: None,
            scale: part.scale,
            kilo: matches!(self.word(part.end - 1), Some(NumberWord::Kilo(_))),
            spelt: false,
        }
    }
}

fn decimal(whole: f64, digits: &str) -> Option<f64> {
    format!("{whole}.{digits}").parse().ok()
}

#[cfg(test)]
mod tests;
