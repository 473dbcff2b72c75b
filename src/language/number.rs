//! Numbers in digits and in words: `12.4`, `4k7`, `3 1/2`, "twelve point six", "half".

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
    /// Its value if its comma is a decimal one after all.
    pub otherwise: Option<f64>,
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
        let spoken = self.word(at) == Some(NumberWord::Minus);
        (spoken || (dash && begins && !after_number)).then_some(at + 1)
    }

    fn unsigned(&self, at: usize) -> Option<Number> {
        let make = |part: Part| Number {
            tokens: at..part.end,
            value: part.value,
            decimals: part.decimals,
            code: None,
            part: false,
            otherwise: None,
            spelt: false,
        };
        if let Some((value, _)) = self.digits(at) {
            return self.coded(at).or_else(|| {
                let mut number = make(self.typed(at, value)?);
                if let What::Number(digits) = &self.tokens[at].what {
                    number.otherwise = digits.otherwise.filter(|_| number.tokens.len() == 1);
                }
                number.part = self
                    .fraction(at)
                    .is_some_and(|part| part.end == number.tokens.end);
                Some(number)
            });
        }
        let mut number = make(self.spelt(at)?);
        number.spelt = true;
        number.part = matches!(
            self.word(number.tokens.end - 1),
            Some(NumberWord::Fraction(_))
        );
        Some(number)
    }

    /// `4k7`, `0R5`, `12V6`.
    fn coded(&self, at: usize) -> Option<Number> {
        let whole = self.integer(at)?;
        let letter = self.tokens.get(at + 1).filter(|token| token.glued)?;
        let What::Word(word) = &letter.what else {
            return None;
        };
        let code = word
            .raw
            .chars()
            .next()
            .filter(|_| word.raw.chars().count() == 1)?;
        if !matches!(code, 'r' | 'R' | 'k' | 'K' | 'v' | 'V' | 'M' | 'Ω') || !self.glued(at + 2) {
            return None;
        }
        let What::Number(after) = &self.tokens.get(at + 2)?.what else {
            return None;
        };
        let decimals = u32::try_from(after.text.len())
            .ok()
            .filter(|_| after.decimals == 0)?;
        let value = format!("{whole}.{}", after.text).parse().ok()?;
        Some(Number {
            tokens: at..at + 3,
            value,
            decimals: Some(decimals),
            code: Some(code),
            part: false,
            otherwise: None,
            spelt: false,
        })
    }

    /// Digits with what may follow them: a fraction, "point 2", "and a half", "hundred".
    fn typed(&self, at: usize, value: f64) -> Option<Part> {
        let (_, decimals) = self.digits(at)?;
        if let Some(part) = self.fraction(at) {
            return Some(part);
        }
        let whole = Part {
            end: at + 1,
            value,
            decimals: Some(decimals),
        };
        if decimals > 0 {
            return Some(whole);
        }
        let dash = usize::from(self.is_mark(at + 1, '-'));
        if let Some(part) = self.fraction(at + 1 + dash) {
            return Some(Part {
                end: part.end,
                value: value + part.value,
                decimals: None,
            });
        }
        if let Some(NumberWord::Scale(scale)) = self.word(at + 1) {
            return Some(Part {
                end: at + 2,
                value: value * scale,
                decimals: None,
            });
        }
        if self.word(at + 1) == Some(NumberWord::Point) && self.integer(at + 2).is_some() {
            return self.after_point(whole);
        }
        Some(self.and_a_half(whole).unwrap_or(whole))
    }

    /// `1/2`, with a denominator people use.
    fn fraction(&self, at: usize) -> Option<Part> {
        let (over, under) = (self.integer(at)?, self.integer(at + 2)?);
        let written = self.is_mark(at + 1, '/') && self.glued(at + 1) && self.glued(at + 2);
        let usual =
            [2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 16.0].contains(&under) && over < under && over > 0.0;
        // 1/2/2023 is a date
        let date = self.is_mark(at + 3, '/') && self.glued(at + 3);
        (written && usual && !date).then(|| Part {
            end: at + 3,
            value: over / under,
            decimals: None,
        })
    }

    fn and_a_half(&self, whole: Part) -> Option<Part> {
        if self.word(whole.end) != Some(NumberWord::And) {
            return None;
        }
        let mut at = whole.end + 1;
        let mut times = 1.0;
        match self.word(at) {
            Some(NumberWord::Article) => at += 1,
            Some(NumberWord::Small(value)) => {
                times = value;
                at += 1;
            }
            _ => {}
        }
        let part = match self.word(at) {
            Some(NumberWord::Fraction(value)) => Part {
                end: at + 1,
                value: value * times,
                decimals: None,
            },
            _ => self.fraction(whole.end + 1)?,
        };
        Some(Part {
            value: whole.value + part.value,
            ..part
        })
    }

    fn spelt(&self, at: usize) -> Option<Part> {
        match self.word(at)? {
            NumberWord::Article => match self.word(at + 1)? {
                NumberWord::Scale(_) => self.whole(at + 1),
                NumberWord::Fraction(value) | NumberWord::Group(value) => Some(Part {
                    end: at + 2,
                    value,
                    decimals: None,
                }),
                _ => None,
            },
            NumberWord::Fraction(value) | NumberWord::Group(value) => Some(Part {
                end: at + 1,
                value,
                decimals: None,
            }),
            NumberWord::Point => self.after_point(Part {
                end: at,
                value: 0.0,
                decimals: None,
            }),
            NumberWord::Oh if self.word(at + 1) == Some(NumberWord::Point) => {
                self.after_point(Part {
                    end: at + 1,
                    value: 0.0,
                    decimals: None,
                })
            }
            NumberWord::Small(value) => {
                // "three quarters"
                if let Some(NumberWord::Fraction(part)) = self.word(at + 1) {
                    return Some(Part {
                        end: at + 2,
                        value: value * part,
                        decimals: None,
                    });
                }
                self.joined(self.whole(at)?)
            }
            NumberWord::Tens(_) => self.joined(self.whole(at)?),
            _ => None,
        }
    }

    /// A whole number with a decimal part or a fraction after it.
    fn joined(&self, whole: Part) -> Option<Part> {
        if self.word(whole.end) == Some(NumberWord::Point) {
            return self.after_point(whole).or(Some(whole));
        }
        // "twelve six": a voltage as it is spoken
        if let Some(NumberWord::Small(tenth)) = self.word(whole.end)
            && (10.0..=15.0).contains(&whole.value)
            && tenth < 10.0
            && !matches!(
                self.word(whole.end + 1),
                Some(NumberWord::Small(_) | NumberWord::Scale(_))
            )
        {
            return Some(Part {
                end: whole.end + 1,
                value: decimal(whole.value, &format!("{tenth}"))?,
                decimals: Some(1),
            });
        }
        Some(self.and_a_half(whole).unwrap_or(whole))
    }

    /// "point six", "point six five", "point twenty five", "point 6".
    fn after_point(&self, whole: Part) -> Option<Part> {
        let mut at = whole.end + 1;
        let mut digits = String::new();
        if let Some(value) = self.integer(at) {
            digits = format!("{value}");
            at += 1;
        }
        while let Some(word) = self.word(at) {
            match word {
                NumberWord::Small(value) => digits += &value.to_string(),
                NumberWord::Oh => digits.push('0'),
                NumberWord::Tens(value) => match self.word(at + 1) {
                    Some(NumberWord::Small(unit)) if unit < 10.0 => {
                        digits += &(value + unit).to_string();
                        at += 1;
                    }
                    _ => digits += &value.to_string(),
                },
                _ => break,
            }
            at += 1;
        }
        let decimals = u32::try_from(digits.len())
            .ok()
            .filter(|&length| (1..=6).contains(&length))?;
        Some(Part {
            end: at,
            value: decimal(whole.value, &digits)?,
            decimals: Some(decimals),
        })
    }

    /// "two hundred and fifty", "thirteen thousand three hundred", "one twenty".
    fn whole(&self, from: usize) -> Option<Part> {
        let mut sum = Sum::default();
        let mut at = from;
        while let Some(word) = self.word(at) {
            let joins = word == NumberWord::And
                && sum.scaled()
                && matches!(
                    self.word(at + 1),
                    Some(NumberWord::Small(_) | NumberWord::Tens(_))
                );
            if !joins && !sum.take(word) {
                break;
            }
            at += 1;
        }
        (at > from).then(|| Part {
            end: at,
            value: sum.value(),
            decimals: None,
        })
    }
}

fn decimal(whole: f64, digits: &str) -> Option<f64> {
    format!("{whole}.{digits}").parse().ok()
}

/// The running sum of a spelt whole number.
#[derive(Default)]
struct Sum {
    done: f64,
    current: f64,
    begun: bool,
}

impl Sum {
    fn value(&self) -> f64 {
        self.done + self.current
    }

    /// Whether an "and" may follow: "two hundred and ...".
    fn scaled(&self) -> bool {
        self.begun && self.current % 100.0 == 0.0
    }

    /// Takes a word into the sum; false if it does not belong to it.
    fn take(&mut self, word: NumberWord) -> bool {
        let open = self.current % 100.0;
        let next = match word {
            NumberWord::Small(value) if !self.begun => value,
            NumberWord::Small(value) if open == 0.0 && self.value() > 0.0 => self.current + value,
            NumberWord::Small(value) if open >= 20.0 && open % 10.0 == 0.0 && value < 10.0 => {
                self.current + value
            }
            NumberWord::Tens(value) if !self.begun => value,
            NumberWord::Tens(value) if open == 0.0 && self.value() > 0.0 => self.current + value,
            NumberWord::Tens(value) if self.done == 0.0 && (1.0..10.0).contains(&self.current) => {
                self.current * 100.0 + value
            }
            NumberWord::Scale(scale) if scale < 1000.0 => self.current.max(1.0) * scale,
            NumberWord::Scale(scale) => {
                self.done += self.current.max(1.0) * scale;
                0.0
            }
            _ => return false,
        };
        self.current = next;
        self.begun = true;
        true
    }
}
