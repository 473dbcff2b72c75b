//! Numbers in words: "three and a half", "twelve six", "two hundred and fifty".

use super::{Part, Reader, decimal};
use crate::knowledge::phrase::NumberWord;

impl Reader<'_> {
    pub(super) fn spelt(&self, at: usize) -> Option<Part> {
        match self.word(at)? {
            NumberWord::Article => match self.word(at + 1)? {
                NumberWord::Scale(_) => self.whole(at + 1),
                NumberWord::Fraction(value) | NumberWord::Group(value) => {
                    Some(self.hundreds(Part::rough(at + 2, value)))
                }
                _ => None,
            },
            NumberWord::Fraction(value) if self.of_a_thousand(at + 1).is_some() => {
                let (end, scale) = self.of_a_thousand(at + 1)?;
                Some(Part::rough(end, value * scale))
            }
            NumberWord::Fraction(value) | NumberWord::Group(value) => {
                Some(Part::rough(at + 1, value))
            }
            NumberWord::Point => self.after_point(Part::rough(at, 0.0)),
            NumberWord::Oh if self.word(at + 1) == Some(NumberWord::Point) => {
                self.after_point(Part::rough(at + 1, 0.0))
            }
            NumberWord::Small(value) => {
                if let Some(part) = self.figure_by_figure(at, value) {
                    return Some(part);
                }
                // "three quarters"
                if let Some(NumberWord::Fraction(part)) = self.word(at + 1) {
                    return Some(Part::rough(at + 2, value * part));
                }
                self.joined(self.whole(at)?)
            }
            NumberWord::Tens(_) => self.joined(self.whole(at)?),
            // "hundred and ninety"
            NumberWord::Scale(_) if self.counts_on(at + 1) => {
                let rest = self.whole(at)?;
                self.joined(rest)
            }
            _ => None,
        }
    }

    /// "one two point four", as a display is read out.
    fn figure_by_figure(&self, at: usize, tens: f64) -> Option<Part> {
        let NumberWord::Small(ones) = self.word(at + 1)? else {
            return None;
        };
        let figures = (1.0..10.0).contains(&tens) && ones < 10.0;
        let pointed = self.word(at + 2) == Some(NumberWord::Point);
        let whole = Part::rough(at + 2, tens * 10.0 + ones);
        (figures && pointed)
            .then(|| self.after_point(whole))
            .flatten()
    }

    /// Whether "and ninety" or "twenty" stands here.
    fn counts_on(&self, at: usize) -> bool {
        let from = at + usize::from(self.word(at) == Some(NumberWord::And));
        let next = self.word(from);
        matches!(next, Some(NumberWord::Small(_) | NumberWord::Tens(_)))
    }

    /// Where "a k" ends and what it stands for, if it begins here: "half a k".
    fn of_a_thousand(&self, at: usize) -> Option<(usize, f64)> {
        let article = self.word(at) == Some(NumberWord::Article);
        match self.word(at + 1).filter(|_| article)? {
            NumberWord::Kilo(scale) | NumberWord::Scale(scale) => Some((at + 2, scale)),
            _ => None,
        }
    }

    /// A whole number with a decimal part or a fraction after it.
    fn joined(&self, whole: Part) -> Option<Part> {
        if self.word(whole.end) == Some(NumberWord::Point) {
            let part = self.after_point(whole).unwrap_or(whole);
            return Some(self.in_thousands(part));
        }
        if let Some(part) = self.hundredths(&whole) {
            return Some(part);
        }
        if let Some(part) = self.hundredths_after_oh(&whole) {
            return Some(part);
        }
        if let Some(part) = self.hundredths_by_figure(&whole) {
            return Some(part);
        }
        // "twelve six": a voltage as it is spoken
        if let Some(NumberWord::Small(tenth)) = self.word(whole.end)
            && (6.0..=15.0).contains(&whole.value)
            && tenth < 10.0
            && !matches!(
                self.word(whole.end + 1),
                Some(NumberWord::Small(_) | NumberWord::Scale(_) | NumberWord::Kilo(_))
            )
        {
            return spoken(whole.value, &format!("{tenth}"), whole.end + 1);
        }
        Some(self.and_a_half(whole).unwrap_or(whole))
    }

    /// "a couple hundred".
    pub(super) fn hundreds(&self, part: Part) -> Part {
        match self.word(part.end) {
            Some(NumberWord::Scale(scale)) => Part::rough(part.end + 1, part.value * scale),
            _ => part,
        }
    }

    /// "thirteen point two k".
    pub(super) fn in_thousands(&self, part: Part) -> Part {
        match self.word(part.end) {
            Some(NumberWord::Kilo(scale)) => Part {
                end: part.end + 1,
                value: part.value * scale,
                scale,
                ..part
            },
            _ => part,
        }
    }

    /// "twelve forty one": a voltage as it is spoken.
    fn hundredths(&self, whole: &Part) -> Option<Part> {
        let NumberWord::Tens(tens) = self.word(whole.end)? else {
            return None;
        };
        let ones = match self.word(whole.end + 1) {
            Some(NumberWord::Small(ones)) if ones < 10.0 => Some(ones),
            Some(NumberWord::Scale(_) | NumberWord::Kilo(_)) => return None,
            _ => None,
        };
        let volts = (9.0..=15.0).contains(&whole.value);
        let digits = format!("{}", tens + ones.unwrap_or(0.0));
        let end = whole.end + 1 + usize::from(ones.is_some());
        volts.then(|| spoken(whole.value, &digits, end))?
    }

    /// "twelve oh two", "five oh one": a voltage.
    fn hundredths_after_oh(&self, whole: &Part) -> Option<Part> {
        let oh = self.word(whole.end) == Some(NumberWord::Oh);
        let Some(NumberWord::Small(hundredth)) = self.word(whole.end + 1).filter(|_| oh) else {
            return None;
        };
        // a battery's, or those of a supply of five
        let volts = (5.0..=5.0).contains(&whole.value) || (9.0..=15.0).contains(&whole.value);
        let figure = (1.0..10.0).contains(&hundredth);
        let digits = format!("0{hundredth}");
        (volts && figure).then(|| spoken(whole.value, &digits, whole.end + 2))?
    }

    /// "eleven nine five": a voltage, its hundredths figure by figure.
    fn hundredths_by_figure(&self, whole: &Part) -> Option<Part> {
        let figure = |at: usize| match self.word(at) {
            Some(NumberWord::Small(figure)) if figure < 10.0 => Some(figure),
            _ => None,
        };
        let (tenth, hundredth) = figure(whole.end).zip(figure(whole.end + 1))?;
        let volts = (9.0..=15.0).contains(&whole.value);
        let ends = !matches!(
            self.word(whole.end + 2),
            Some(
                NumberWord::Small(_)
                    | NumberWord::Tens(_)
                    | NumberWord::Scale(_)
                    | NumberWord::Kilo(_)
                    | NumberWord::Point
            )
        );
        let digits = format!("{tenth}{hundredth}");
        (volts && ends).then(|| spoken(whole.value, &digits, whole.end + 2))?
    }

    /// "point six", "point six five", "point twenty five", "point 6".
    pub(super) fn after_point(&self, whole: Part) -> Option<Part> {
        let mut at = whole.end + 1;
        if self.word(at) == Some(NumberWord::Vague) {
            return Some(Part::rough(at + 1, whole.value));
        }
        let mut digits = String::new();
        // "12 point 06" keeps its nought
        if let Some(figures) = self.figures(at) {
            digits += figures;
            at += 1;
        }
        // "12 point 7 5": one figure at a time
        while let Some(figure) = self.integer(at).filter(|&figure| figure < 10.0) {
            if digits.len() != at - whole.end - 1 || self.glued(at) {
                break;
            }
            digits += &figure.to_string();
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
            scale: 1.0,
        })
    }

    /// "two hundred and fifty", "thirteen thousand three hundred", "one twenty".
    fn whole(&self, from: usize) -> Option<Part> {
        let mut sum = Sum::default();
        let mut at = from;
        while let Some(word) = self.word(at) {
            // "between nine hundred and fifteen hundred"
            let scaled_again = matches!(self.word(at + 2), Some(NumberWord::Scale(_)));
            let joins = word == NumberWord::And
                && sum.scaled()
                && !scaled_again
                && matches!(
                    self.word(at + 1),
                    Some(NumberWord::Small(_) | NumberWord::Tens(_))
                );
            // "one k five": the five are hundreds, and no number of their own
            let letter = at > from && self.tokens[at - 1].plain() == Some("k");
            let hundreds = matches!(self.word(at + 1), Some(NumberWord::Scale(_)));
            let tenth =
                letter && !hundreds && matches!(word, NumberWord::Small(value) if value < 10.0);
            if tenth || !joins && !sum.take(word) {
                break;
            }
            at += 1;
        }
        let scale = match self.word(at.checked_sub(1)?) {
            Some(NumberWord::Kilo(scale)) => scale,
            _ => 1.0,
        };
        (at > from).then(|| Part {
            scale,
            ..Part::rough(at, sum.value())
        })
    }
}

/// A number that was spoken figure by figure after its whole part.
fn spoken(whole: f64, digits: &str, end: usize) -> Option<Part> {
    Some(Part {
        end,
        value: decimal(whole, digits)?,
        decimals: u32::try_from(digits.len()).ok(),
        scale: 1.0,
    })
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
            NumberWord::Scale(scale) | NumberWord::Kilo(scale) => {
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
