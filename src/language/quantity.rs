//! Numbers with their units, ranges included.

use super::number::Number;
use super::token::{Token, What};
use crate::knowledge::phrase::{NumberWord, Phrases, Unit, UnitForm};
use crate::quantity::Kind;
use std::ops::Range;

/// A number, or a range, with the unit it was said in.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    /// The tokens it is made of, unit included.
    pub tokens: Range<usize>,
    /// The number, or the lower end.
    pub value: f64,
    /// The upper end of a range.
    pub upper: Option<f64>,
    /// Digits after the point; none for words and fractions.
    pub decimals: Option<u32>,
    /// Position of its unit.
    pub unit: Option<usize>,
    /// Value if its comma is a decimal one after all.
    pub otherwise: Option<f64>,
    /// Whether only an article stood for the number: "a pint".
    pub article: bool,
    /// Whether it is spelt out.
    pub spelt: bool,
    /// What it may be off by, where said: `±0.1`.
    pub give: Option<Give>,
}

/// A tolerance after a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Give {
    /// In the unit of the number.
    By(f64),
    /// As a share of it.
    Share(f64),
}

/// Every quantity of a message, in order, not overlapping.
#[must_use]
pub fn quantities(tokens: &[Token], numbers: &[Number], phrases: &Phrases) -> Vec<Quantity> {
    let reader = Reader { tokens, phrases };
    let mut singles = Vec::new();
    let mut at = 0;
    for number in numbers {
        reader.articles(at..number.tokens.start, &mut singles);
        let quantity = reader.with_unit(number);
        at = quantity.tokens.end;
        singles.push(quantity);
    }
    reader.articles(at..tokens.len(), &mut singles);
    reader.join(singles)
}

struct Reader<'a> {
    tokens: &'a [Token],
    phrases: &'a Phrases,
}

impl Reader<'_> {
    fn plain(&self, at: usize) -> &str {
        self.tokens.get(at).and_then(Token::plain).unwrap_or("")
    }

    fn is(&self, at: usize, mark: char) -> bool {
        self.tokens.get(at).is_some_and(|token| token.is(mark))
    }

    fn kind(&self, quantity: &Quantity) -> Option<Kind> {
        quantity.unit.map(|unit| self.phrases.units.unit(unit).kind)
    }

    fn with_unit(&self, number: &Number) -> Quantity {
        let mut quantity = Quantity {
            tokens: number.tokens.clone(),
            value: number.value,
            upper: None,
            decimals: number.decimals,
            unit: None,
            otherwise: number.otherwise,
            article: false,
            spelt: number.spelt,
            give: None,
        };
        if let Some(code) = number.code {
            quantity.unit = self.coded_unit(code);
            let after = self.unit(number.tokens.end, false);
            if let Some((unit, end)) = after.filter(|&(unit, _)| {
                self.phrases.units.unit(unit).kind == Kind::Resistance && code != 'V'
            }) {
                // "4k7 ohm": the word only repeats the letter
                let _ = unit;
                quantity.tokens.end = end;
            }
            return quantity;
        }
        let at = self.unit_place(number);
        // "first try 11.2 second try 11.4"
        let next_word = self
            .tokens
            .get(at + 1)
            .is_some_and(|next| next.plain().is_some());
        let ordinal = self.plain(at) == "second"
            && number.decimals.is_some_and(|places| places > 0)
            && next_word;
        if let Some((unit, end)) = self.unit(at, number.spelt).filter(|_| !ordinal) {
            quantity.unit = Some(unit);
            quantity.tokens.end = end;
            self.decimal_comma(&mut quantity);
        }
        quantity
    }

    /// Nobody measures 12,650 volts on a motorcycle.
    fn decimal_comma(&self, quantity: &mut Quantity) {
        let Some(otherwise) = quantity.otherwise else {
            return;
        };
        let unit = quantity.unit.map(|unit| self.phrases.units.unit(unit));
        if unit.is_some_and(|unit| {
            matches!(
                unit.symbol.as_str(),
                "V" | "A" | "L" | "bar" | "kPa" | "psi"
            )
        }) {
            quantity.value = otherwise;
            quantity.decimals = Some(3);
        }
    }

    /// Where the unit of a number may stand: after it, after a hyphen, after "of a".
    fn unit_place(&self, number: &Number) -> usize {
        let mut at = number.tokens.end;
        if self.is(at, '-')
            && self.tokens[at].glued
            && self.tokens.get(at + 1).is_some_and(|next| next.glued)
        {
            return at + 1;
        }
        if number.part || self.plain(at) == "of" {
            at += usize::from(self.plain(at) == "of");
            at +=
                usize::from(self.phrases.numbers.find(self.plain(at)) == Some(NumberWord::Article));
        }
        at
    }

    fn coded_unit(&self, code: char) -> Option<usize> {
        let text = code.to_string();
        let forms = self.phrases.units.beginning(&text.to_lowercase());
        let fits = |exact: bool| {
            forms.iter().find(|form| {
                form.tokens.len() == 1 && form.exact == exact && (!exact || form.tokens[0] == text)
            })
        };
        fits(true).or_else(|| fits(false)).map(|form| form.unit)
    }

    /// The unit that begins at a token, and where it ends.
    fn unit(&self, at: usize, spelt: bool) -> Option<(usize, usize)> {
        let text = self.text(at, false)?;
        let mut found = self.unit_named(&text, at, spelt);
        if found.is_none() {
            // a misspelt unit counts as the word it was corrected to
            let id = self.tokens[at].id()?;
            let word = self.phrases.words.word(id);
            if word != text && word.chars().count() > 3 {
                found = self.unit_named(word, at, spelt);
            }
        }
        found
    }

    fn unit_named(&self, text: &str, at: usize, spelt: bool) -> Option<(usize, usize)> {
        let fits = |form: &&UnitForm| {
            let rest = form.tokens.iter().enumerate().skip(1);
            let first = !form.exact || self.text(at, true).as_deref() == Some(&form.tokens[0]);
            let tight = !form.tight || (!spelt && (self.tokens[at].glued || self.is_capital(at)));
            first
                && tight
                && rest.into_iter().all(|(ahead, piece)| {
                    self.text(at + ahead, form.exact).is_some_and(|text| {
                        text == *piece || self.corrected(at + ahead) == Some(piece.as_str())
                    })
                })
        };
        let form = self.phrases.units.beginning(text).iter().find(fits)?;
        Some((form.unit, at + form.tokens.len()))
    }

    fn corrected(&self, at: usize) -> Option<&str> {
        let id = self.tokens.get(at)?.id()?;
        Some(self.phrases.words.word(id))
    }

    fn is_capital(&self, at: usize) -> bool {
        matches!(&self.tokens[at].what, What::Word(word) if word.raw.starts_with(char::is_uppercase))
    }

    fn text(&self, at: usize, exact: bool) -> Option<String> {
        match &self.tokens.get(at)?.what {
            What::Word(word) => Some(if exact {
                word.raw.clone()
            } else {
                word.plain.clone()
            }),
            What::Mark(mark) => Some(mark.to_string()),
            What::Number(_) => None,
        }
    }

    /// "a pint", "an ohm": one of the unit, of little weight.
    fn articles(&self, range: Range<usize>, found: &mut Vec<Quantity>) {
        for at in range.clone() {
            if self.phrases.numbers.find(self.plain(at)) != Some(NumberWord::Article)
                || at + 1 >= range.end
            {
                continue;
            }
            let whole_word = self.plain(at + 1).chars().count() > 2;
            if let Some((unit, end)) = self.unit(at + 1, true).filter(|_| whole_word) {
                let half = self.and_a_half(end);
                found.push(Quantity {
                    tokens: at..half.unwrap_or(end),
                    value: if half.is_some() { 1.5 } else { 1.0 },
                    upper: None,
                    decimals: None,
                    unit: Some(unit),
                    otherwise: None,
                    article: half.is_none(),
                    spelt: true,
                    give: None,
                });
            }
        }
    }

    /// Where "and a half" ends, if it begins here: "a minute and a half".
    fn and_a_half(&self, at: usize) -> Option<usize> {
        let words = (0..3).map(|ahead| self.phrases.numbers.find(self.plain(at + ahead)));
        let said: Vec<_> = words.collect();
        let half = matches!(
            said[..],
            [
                Some(NumberWord::And),
                Some(NumberWord::Article),
                Some(NumberWord::Fraction(_))
            ]
        );
        half.then_some(at + 3)
    }

    /// Joins what belongs together: ranges, tolerances, minutes and seconds.
    fn join(&self, singles: Vec<Quantity>) -> Vec<Quantity> {
        let mut joined: Vec<Quantity> = Vec::new();
        for next in singles {
            match joined.last_mut() {
                Some(last) if self.tolerance(last, &next) => {
                    last.give = Some(self.give(last, &next));
                    last.tokens.end = next.tokens.end + usize::from(self.is(next.tokens.end, '%'));
                    last.unit = last.unit.or(next.unit);
                }
                Some(last) if self.is_range(last, &next) => {
                    let (low, high) = (last.value.min(next.value), last.value.max(next.value));
                    (last.value, last.upper) = (low, Some(high));
                    last.unit = next.unit.or(last.unit);
                    last.decimals = last.decimals.max(next.decimals);
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.is_longer_time(last, &next) => {
                    let base = |quantity: &Quantity, unit: &Unit| unit.to_base(quantity.value);
                    let units = &self.phrases.units;
                    let sum = base(last, units.unit(last.unit.expect("a time")))
                        + base(&next, units.unit(next.unit.expect("a time")));
                    last.value = units.unit(next.unit.expect("a time")).from_base(sum);
                    last.unit = next.unit;
                    last.tokens.end = next.tokens.end;
                }
                _ => joined.push(next),
            }
        }
        joined
    }

    fn tolerance(&self, last: &Quantity, next: &Quantity) -> bool {
        let between = last.tokens.end..next.tokens.start;
        let sign = |at: usize| self.is(at, '±');
        let spelt = |at: usize| self.is(at, '+') && self.is(at + 1, '/');
        (between.len() == 1 && sign(between.start))
            || ((2..=3).contains(&between.len()) && spelt(between.start))
    }

    fn give(&self, _last: &Quantity, next: &Quantity) -> Give {
        if self.is(next.tokens.end, '%') {
            Give::Share(next.value.abs() / 100.0)
        } else {
            Give::By(next.value.abs())
        }
    }

    fn is_range(&self, last: &Quantity, next: &Quantity) -> bool {
        let same = match (self.kind(last), self.kind(next)) {
            (Some(a), Some(b)) => a == b && last.unit == next.unit,
            (None, _) => true,
            (Some(_), None) => last.value < next.value && self.plain(last.tokens.end) != "or",
        };
        if !same || last.upper.is_some() || last.article || next.article || last.value < 0.0 {
            return false;
        }
        let between = last.tokens.end..next.tokens.start;
        let opened = self.between_before(last.tokens.start);
        match between.len() {
            // 12.4-12.6: the lexer gave the dash to neither
            1 if self.is(between.start, '-') => {
                last.value < next.value || next.decimals.is_some_and(|decimals| decimals > 0)
            }
            1 if self.is(between.start, '…') => last.value < next.value,
            1 => match self.plain(between.start) {
                "to" | "till" | "thru" | "through" => {
                    last.value < next.value && !self.changes(last.tokens.start)
                }
                "or" => last.value < next.value,
                "and" => opened,
                _ => false,
            },
            2 => opened && self.plain(between.start) == "and",
            _ => false,
        }
    }

    /// "drops from 12.6 to 10.1" names two readings and no range.
    fn changes(&self, start: usize) -> bool {
        let from = (1..=2).find(|&back| start >= back && self.plain(start - back) == "from");
        let Some(from) = from.map(|back| start - back) else {
            return false;
        };
        let Some(class) = self.phrases.classes.position("changes") else {
            return false;
        };
        (from.saturating_sub(2)..from).any(|at| {
            let mut found = false;
            let word_at = |ahead: usize| self.tokens.get(at + ahead).and_then(Token::id);
            self.phrases
                .classes
                .walk(word_at, |known, _| found |= known == class);
            found
        })
    }

    /// Whether "between" stands before, at most one word away.
    fn between_before(&self, start: usize) -> bool {
        (1..=2).any(|back| {
            start >= back
                && matches!(
                    self.plain(start - back),
                    "between" | "betwen" | "btw" | "tween"
                )
        })
    }

    fn is_longer_time(&self, last: &Quantity, next: &Quantity) -> bool {
        let time =
            |quantity: &Quantity| self.kind(quantity) == Some(Kind::Duration) && !quantity.article;
        let between = last.tokens.end..next.tokens.start;
        let touching = between.is_empty()
            || (between.len() == 1 && matches!(self.plain(between.start), "and" | "n"));
        if !(time(last) && time(next) && touching) {
            return false;
        }
        let step = |quantity: &Quantity| {
            self.phrases
                .units
                .unit(quantity.unit.expect("a time"))
                .step(1.0)
        };
        step(last) > step(next)
    }
}
