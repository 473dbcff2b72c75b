//! Numbers in digits, with what may follow them: a letter, a fraction, "and a half".

use super::{Number, Part, Reader, decimal};
use crate::knowledge::phrase::NumberWord;
use crate::language::token::{Token, What};

impl Reader<'_> {
    /// Digits, and what may follow them.
    pub(super) fn in_digits(&self, at: usize) -> Option<Number> {
        let mut number = self.made(at, self.typed(at)?);
        if let What::Number(digits) = &self.tokens[at].what {
            number.otherwise = digits.otherwise.filter(|_| number.tokens.len() == 1);
        }
        let fraction = self.fraction(at);
        number.part = fraction.is_some_and(|part| part.end == number.tokens.end);
        Some(number)
    }

    /// `4k7`, `0R5`, `12V6`, `2A8`.
    pub(super) fn coded(&self, at: usize) -> Option<Number> {
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
        if !matches!(code, 'r' | 'R' | 'k' | 'K' | 'v' | 'V' | 'A' | 'M' | 'Ω')
            || !self.glued(at + 2)
        {
            return None;
        }
        let What::Number(after) = &self.tokens.get(at + 2)?.what else {
            return None;
        };
        let decimals = u32::try_from(after.text.len())
            .ok()
            .filter(|_| after.decimals == 0)?;
        let value = format!("{whole}.{}", after.text).parse().ok()?;
        let part = Part {
            end: at + 3,
            value,
            decimals: Some(decimals),
            scale: 1.0,
        };
        Some(Number {
            code: Some(code),
            kilo: false,
            ..self.made(at, part)
        })
    }

    /// Digits with what may follow them: a fraction, a letter `k`, "point 2", "and a half", "hundred".
    fn typed(&self, at: usize) -> Option<Part> {
        let (value, decimals) = self.digits(at)?;
        if let Some(part) = self.fraction(at) {
            return Some(part);
        }
        let whole = self.one_by_one(at).unwrap_or(Part {
            end: at + 1,
            value,
            decimals: Some(decimals),
            scale: 1.0,
        });
        if whole.end > at + 1 {
            return Some(whole);
        }
        if let Some(NumberWord::Scale(scale) | NumberWord::Kilo(scale)) = self.word(at + 1) {
            return Some(Part {
                end: at + 2,
                value: value * scale,
                scale,
                ..whole
            });
        }
        if decimals > 0 {
            return Some(whole);
        }
        if let Some(part) = self.slipped_point(at, whole) {
            return Some(part);
        }
        let dash = usize::from(self.is_mark(at + 1, '-'));
        if let Some(part) = self.fraction(at + 1 + dash) {
            return Some(Part::rough(part.end, value + part.value));
        }
        let goes_on =
            || self.integer(at + 2).is_some() || self.word(at + 2) == Some(NumberWord::Vague);
        if self.word(at + 1) == Some(NumberWord::Point) && goes_on() {
            return self.after_point(whole);
        }
        Some(self.and_a_half(whole).unwrap_or(whole))
    }

    /// "4 0 0 volts": figures typed one by one before a word.
    fn one_by_one(&self, at: usize) -> Option<Part> {
        const FEWEST: usize = 3;
        let apart = |at: &usize| self.figures(*at).filter(|figure| figure.len() == 1);
        let row: String = (at..)
            .take_while(|next| *next == at || !self.glued(*next))
            .map_while(|next| apart(&next))
            .collect();
        let end = at + row.len();
        let word = matches!(self.tokens.get(end)?.what, What::Word(_));
        (row.len() >= FEWEST && word).then_some(Part {
            end,
            value: row.parse().ok()?,
            decimals: Some(0),
            scale: 1.0,
        })
    }

    /// "12 .4", "12..4", "12,,4" and, at the end of what is said, "12. 4": one number, its point mistyped.
    fn slipped_point(&self, at: usize, whole: Part) -> Option<Part> {
        /// Figures after a point that meters show.
        const FIGURES: usize = 2;
        let (after, end) = self.beside_slip(at, whole.value)?;
        let typed = (1..=FIGURES).contains(&after.len());
        let figures = typed && after.bytes().all(|figure| figure.is_ascii_digit());
        let value = decimal(whole.value, after).filter(|_| figures)?;
        Some(Part {
            end,
            value,
            decimals: u32::try_from(after.len()).ok(),
            scale: 1.0,
        })
    }

    /// The figures after a point that slipped, and where they end.
    fn beside_slip(&self, at: usize, whole: f64) -> Option<(&str, usize)> {
        /// Below this "1. 4" may be the fourth of a list's first.
        const LEAST: f64 = 5.0;
        let next = self.after_sign(at + 1, '.');
        if let Some(figures) = next.filter(|_| !self.glued(at + 1) && (whole >= LEAST || at == 0)) {
            return Some((figures, at + 2));
        }
        if !self.glued(at + 1) {
            return None;
        }
        if let Some(figures) = self
            .after_sign(at + 2, ',')
            .filter(|_| self.is_mark(at + 1, ','))
        {
            return Some((figures, at + 3));
        }
        let after = self.figures(at + 2)?;
        // "12..14" is a range
        let smaller = self.integer(at + 2)? < whole;
        let twice = self.is_mark(at + 1, '…') && self.glued(at + 2) && smaller;
        let apart = self.is_mark(at + 1, '.') && !self.glued(at + 2);
        let last = apart && whole >= LEAST && self.closes(at + 3);
        (twice || last).then_some((after, at + 3))
    }

    /// The figures of a number that is typed with a sign before them: ".4".
    fn after_sign(&self, at: usize, sign: char) -> Option<&str> {
        match &self.tokens.get(at)?.what {
            What::Number(digits) => digits.text.strip_prefix(sign),
            _ => None,
        }
    }

    /// Whether what is said ends here, the sign of a unit aside.
    fn closes(&self, at: usize) -> bool {
        let sign = |token: &Token| matches!(token.plain(), Some("v" | "a"));
        let at = at + usize::from(self.tokens.get(at).is_some_and(sign));
        let ends = |token: &Token| matches!(token.what, What::Mark('.' | '!' | '\n'));
        self.tokens.get(at).is_none_or(ends)
    }

    /// `1/2`, with a denominator people use.
    pub(super) fn fraction(&self, at: usize) -> Option<Part> {
        let (over, under) = (self.integer(at)?, self.integer(at + 2)?);
        let written = self.is_mark(at + 1, '/') && self.glued(at + 1) && self.glued(at + 2);
        let usual =
            [2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 16.0].contains(&under) && over < under && over > 0.0;
        // 1/2/2023 is a date
        let date = self.is_mark(at + 3, '/') && self.glued(at + 3);
        (written && usual && !date).then(|| Part::rough(at + 3, over / under))
    }

    pub(super) fn and_a_half(&self, whole: Part) -> Option<Part> {
        // "3 an a half", "3 + a half"
        let slip = self.word(whole.end) == Some(NumberWord::Article)
            && self.word(whole.end + 1) == Some(NumberWord::Article);
        let sign = self.is_mark(whole.end, '+') || self.is_mark(whole.end, '&');
        if !(slip || sign || self.word(whole.end) == Some(NumberWord::And)) {
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
            Some(NumberWord::Fraction(value)) => Part::rough(at + 1, value * times),
            _ => self.fraction(whole.end + 1)?,
        };
        let sum = Part {
            value: whole.value + part.value,
            ..part
        };
        // "two and a half thousand"
        Some(self.in_thousands(self.hundreds(sum)))
    }
}
