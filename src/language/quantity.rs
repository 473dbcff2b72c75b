//! Numbers with their units, ranges included.

mod article;
mod counted;
mod free;
mod join;
mod label;
mod minus;
mod sign;
mod tenths;

use super::number::Number;
use super::token::{Token, What};
use crate::knowledge::phrase::{NumberWord, Phrases, UnitForm};
use crate::quantity::Kind;
use std::ops::Range;

/// Ranges of hand-held meters, with and without a prefix to the unit (common practice, no source).
const METER_RANGES: [f64; 8] = [
    2.0, 20.0, 200.0, 2_000.0, 20_000.0, 200_000.0, 600.0, 1_000.0,
];

/// Rated currents of blade fuses, in amperes (ISO 8820-3).
const FUSES: [f64; 14] = [
    1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0,
];

/// A number, or a range, with the unit it was said in.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "independent ways in which a number may be written"
)]
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
    /// Value if its comma or point is the other kind of separator after all.
    pub otherwise: Option<f64>,
    /// What the digits typed were multiplied by.
    pub scale: f64,
    /// Whether a letter `k` stands where a unit would.
    pub kilo: bool,
    /// Whether it is written as on a clock: `1:40`.
    pub clock: bool,
    /// Whether only an article stood for the number: "a pint".
    pub article: bool,
    /// Whether it is spelt out.
    pub spelt: bool,
    /// What it may be off by, where said: `±0.1`.
    pub give: Option<Give>,
}

impl Quantity {
    /// Whether it is a whole number without a unit, as things are counted.
    #[must_use]
    pub fn is_count(&self) -> bool {
        let typed = self.decimals == Some(0);
        let plain = self.unit.is_none() && self.upper.is_none() && !self.kilo;
        plain && (typed || self.spelt) && self.value.fract() == 0.0 && self.value >= 0.0
    }

    /// Whether it is a whole number of its unit, spelt out: "three bar".
    #[must_use]
    pub fn is_count_of_unit(&self) -> bool {
        self.spelt && self.upper.is_none() && !self.article && self.value.fract() == 0.0
    }

    /// Whether it is a whole number, whatever its unit.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.upper.is_none() && self.decimals.unwrap_or(0) == 0 && self.value.fract() == 0.0
    }

    /// Whether it is a current in amperes that blade fuses are made for.
    #[must_use]
    pub fn is_fuse_size(&self) -> bool {
        FUSES.contains(&self.value)
    }

    /// The same number with its separator taken for the other kind.
    #[must_use]
    pub fn regrouped(&self, value: f64) -> Self {
        Self {
            value,
            decimals: Some(0),
            otherwise: None,
            ..self.clone()
        }
    }

    /// Whether it is one of something.
    #[must_use]
    pub fn is_one(&self) -> bool {
        (self.value - 1.0).abs() < f64::EPSILON
    }

    /// Whether it is a number that meters have as a range, in the unit said.
    #[must_use]
    pub fn is_meter_range(&self) -> bool {
        let typed = self.decimals == Some(0) && self.upper.is_none();
        typed && METER_RANGES.contains(&self.value)
    }

    /// The step of the last digit typed, in the unit said; none for words and fractions.
    #[must_use]
    pub fn step(&self) -> Option<f64> {
        let decimals = i32::try_from(self.decimals?).ok()?;
        Some(self.scale * 10_f64.powi(-decimals))
    }
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
        // "a minute and a half" has taken its half already
        let taken = singles.last().map_or(0, |last| last.tokens.end);
        if taken > number.tokens.start {
            at = taken;
            continue;
        }
        let quantity = reader.labelled(reader.with_unit(number), at);
        at = quantity.tokens.end;
        singles.push(quantity);
    }
    reader.articles(at..tokens.len(), &mut singles);
    reader.headed(&mut singles);
    reader.listed(&mut singles);
    reader.chained(&mut singles);
    reader.both(&mut singles);
    reader.of_free_unit(&mut singles);
    reader.counted(&mut singles);
    reader.signed(&mut singles);
    reader.below_zero(&mut singles);
    reader.join(singles)
}

#[cfg(test)]
mod tests;

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
            scale: number.scale,
            kilo: number.kilo,
            clock: false,
            article: false,
            spelt: number.spelt,
            give: None,
        };
        if let Some((unit, end)) = self.prefixed(number) {
            (quantity.unit, quantity.tokens.end) = (Some(unit), end);
            (quantity.value, quantity.scale) = (number.value / number.scale, 1.0);
            quantity.kilo = false;
            return quantity;
        }
        let repeated = number
            .code
            .and_then(|_| self.unit(number.tokens.end, false));
        if matches!(number.code, Some('k' | 'K')) && repeated.is_none() {
            // "2k8": what is counted in thousands the question tells
            (quantity.value, quantity.scale) = (number.value * 1_000.0, 1_000.0);
            quantity.kilo = true;
            return quantity;
        }
        if let Some(code) = number.code {
            quantity.unit = self.phrases.units.lettered(code);
            let after = self.unit(number.tokens.end, false);
            // "4k7 ohm": the word only repeats the letter
            let repeats = |&(unit, _): &(usize, usize)| {
                Some(self.phrases.units.unit(unit).kind) == self.kind(&quantity)
            };
            if let Some((_, end)) = after.filter(repeats) {
                quantity.tokens.end = end;
            }
            return quantity;
        }
        let at = self.unit_place(number);
        if let Some(minutes) = self.minutes_and_more(at) {
            (quantity.unit, quantity.tokens.end) = (Some(minutes), at + 1);
            return quantity;
        }
        // "first try 11.2 second try 11.4"
        let next_word = self
            .tokens
            .get(at + 1)
            .is_some_and(|next| next.plain().is_some());
        let tenths = number.decimals.is_some_and(|places| places > 0);
        let again = || self.in_class(at + 1, "attempt") && self.follows_a_first(number);
        let ordinal = self.in_class(at, "ordinal-second") && (tenths && next_word || again());
        let pair = self.is_pair_of_letters(at) || self.is_letter_of_entry(number, at);
        if let Some((unit, end)) = self.unit(at, number.spelt).filter(|_| !(ordinal || pair)) {
            quantity.unit = Some(unit);
            quantity.tokens.end = end;
            quantity.kilo = false;
            self.separator(&mut quantity);
            // "two bar and a half", and without the article as a second language has it
            if let Some((end, part)) = self.and_part(end).filter(|_| quantity.is_whole()) {
                (quantity.value, quantity.tokens.end) = (quantity.value + part, end);
                quantity.decimals = None;
            }
            self.per_time(&mut quantity);
        }
        quantity
    }

    /// "0.6 A-C 0.6": two wires that go by letters, and no ampere.
    fn is_pair_of_letters(&self, at: usize) -> bool {
        let letter = |at: usize| {
            self.tokens.get(at).is_some_and(|token| match &token.what {
                What::Word(word) => !token.glued && matches!(word.raw.as_bytes(), [b'A'..=b'H']),
                _ => false,
            })
        };
        letter(at) && letter(at + 1)
    }

    /// "A: 12.6 B: 11.9 C: 0.0": the letter that the next entry goes by.
    fn is_letter_of_entry(&self, number: &Number, at: usize) -> bool {
        let listed = number.tokens.start > 0 && self.is(number.tokens.start - 1, ':');
        let letter = |token: &Token| match &token.what {
            // "15 s: 90 ml" and "0.25 L: 18 s" are a time and a volume
            What::Word(word) => match word.raw.as_str() {
                "s" | "l" => false,
                "L" => listed,
                raw => raw.len() == 1,
            },
            _ => false,
        };
        let apart = |token: &Token| !token.glued && letter(token);
        self.tokens.get(at).is_some_and(apart) && self.is(at + 1, ':')
    }

    /// "310 ml first go, 305 second go": whether a first is told a little before.
    fn follows_a_first(&self, number: &Number) -> bool {
        const BACK: usize = 8;
        let start = number.tokens.start;
        let mut before = start.saturating_sub(BACK)..start;
        before.any(|at| self.in_class(at, "ordinal-first"))
    }

    /// The unit that a letter `k` begins: "4.7 k ohm".
    fn prefixed(&self, number: &Number) -> Option<(usize, usize)> {
        let at = number.tokens.end.checked_sub(1).filter(|_| number.kilo)?;
        self.unit(at, false).filter(|&(_, end)| end > at + 1)
    }

    /// Nobody measures 12,650 volts on a motorcycle, or a speed of 1.3 turns a minute.
    fn separator(&self, quantity: &mut Quantity) {
        let unit = quantity.unit.map(|unit| self.phrases.units.unit(unit));
        let (Some(otherwise), Some(unit)) = (quantity.otherwise, unit) else {
            return;
        };
        let decimal = otherwise < quantity.value;
        let small = matches!(
            unit.symbol.as_str(),
            "V" | "A" | "L" | "bar" | "kPa" | "psi" | "kohm"
        );
        if decimal && small {
            (quantity.value, quantity.decimals) = (otherwise, Some(3));
            quantity.otherwise = None;
        } else if !decimal && unit.symbol == "rpm" {
            (quantity.value, quantity.decimals) = (otherwise, Some(0));
            quantity.otherwise = None;
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
        // "one full minute"
        if self.in_class(at, "entire") && self.unit(at + 1, true).is_some() {
            return at + 1;
        }
        let of = self.in_class(at, "partitive");
        if number.part || of {
            at += usize::from(of);
            at +=
                usize::from(self.phrases.numbers.find(self.plain(at)) == Some(NumberWord::Article));
        }
        at
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

    /// Whether a member of the class begins at the token.
    fn in_class(&self, at: usize, class: &str) -> bool {
        self.class_end(at, class).is_some()
    }

    /// Where the longest member of a class ends that begins at the token.
    fn class_end(&self, at: usize, class: &str) -> Option<usize> {
        let word_at = |ahead: usize| self.tokens.get(at + ahead).and_then(Token::id);
        let longest = self.phrases.classes.longest(class, word_at);
        longest.map(|length| at + length)
    }

    /// The `m` of `1m30s`, which elsewhere is a metre.
    fn minutes_and_more(&self, at: usize) -> Option<usize> {
        let glued = |at: usize| self.tokens.get(at).is_some_and(|token| token.glued);
        let figures = matches!(self.tokens.get(at + 1)?.what, What::Number(_));
        let written = self.plain(at) == "m" && figures && glued(at) && glued(at + 2);
        let seconds = |(unit, _)| self.phrases.units.unit(unit).symbol == Kind::Duration.unit();
        (written && self.unit(at + 2, false).is_some_and(seconds))
            .then(|| self.unit_of_minutes())
            .flatten()
    }

    fn unit_of_minutes(&self) -> Option<usize> {
        let units = self.phrases.units.all();
        units.iter().position(|unit| unit.symbol == "min")
    }

    /// "two cups a minute", "40 ml every second": a volume for each unit of time is a flow.
    fn per_time(&self, quantity: &mut Quantity) {
        let at = quantity.tokens.end;
        let each = self.in_class(at, "each-time") || self.is(at, '/');
        let time = self.unit(at + 1, false).filter(|_| each);
        let flow = quantity
            .unit
            .zip(time)
            .and_then(|(volume, (time, end))| Some((self.phrases.units.flow(volume, time)?, end)));
        if let Some((flow, end)) = flow {
            (quantity.unit, quantity.tokens.end) = (Some(flow), end);
            quantity.article = false;
        }
    }
}
