//! What belongs together: ranges, tolerances, minutes and seconds, a share of a bottle.

use super::{Give, Quantity, Reader};
use crate::knowledge::phrase::{NumberWord, Unit};
use crate::language::token::What;
use crate::quantity::Kind;

impl Reader<'_> {
    /// Joins what belongs together: ranges, tolerances, minutes and seconds.
    pub(super) fn join(&self, singles: Vec<Quantity>) -> Vec<Quantity> {
        let mut joined: Vec<Quantity> = Vec::new();
        for next in singles {
            match joined.last_mut() {
                Some(last) if self.is_clock(last, &next) => {
                    last.value = last.value * 60.0 + next.value;
                    (last.unit, last.clock) = (self.seconds(), true);
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.begins_again(last, &next) => *last = next,
                Some(last) if self.is_share(last, &next) => {
                    last.value *= next.value;
                    (last.unit, last.decimals) = (next.unit, None);
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.is_filled(last, &next) => {
                    last.value *= next.value;
                    last.decimals = None;
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.is_grouped(last, &next) => {
                    last.value = last.value * 1_000.0 + next.value;
                    last.unit = next.unit;
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.is_tenths_of_thousand(last, &next) => {
                    last.value += next.value * last.scale / 10.0;
                    last.decimals = Some(1);
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.is_tenths(last, &next) => {
                    let tenths = 10_f64.powi(if next.value < 10.0 { -1 } else { -2 });
                    last.value += next.value * tenths;
                    last.decimals = Some(if next.value < 10.0 { 1 } else { 2 });
                    last.unit = last.unit.or(next.unit);
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.has_bare_rest(last, &next) => {
                    let unit = self.phrases.units.unit(last.unit.expect("a time"));
                    last.value = unit.to_base(last.value) + next.value * unit.to_base(1.0) / 60.0;
                    (last.unit, last.article) = (self.seconds(), false);
                    last.tokens.end = next.tokens.end;
                }
                Some(last) if self.tolerance(last, &next) => {
                    last.give = Some(self.give(last, &next));
                    last.tokens.end = next.tokens.end + usize::from(self.is(next.tokens.end, '%'));
                    last.unit = last.unit.or(next.unit);
                }
                Some(last) if self.is_range(last, &next) => {
                    // "60 to 64 k", "4 to 5 thousand"
                    let shared = next.kilo || last.is_count() && last.value < 10.0;
                    let larger = shared && next.scale > last.scale && last.unit.is_none();
                    if larger && !last.kilo {
                        last.value *= next.scale;
                        (last.kilo, last.scale) = (true, next.scale);
                    }
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
                    (last.unit, last.article) = (next.unit, false);
                    last.tokens.end = next.tokens.end;
                }
                _ => joined.push(next),
            }
        }
        joined
    }

    /// The unit of seconds.
    pub(super) fn seconds(&self) -> Option<usize> {
        let units = self.phrases.units.all();
        let base =
            |unit: &Unit| unit.kind == Kind::Duration && unit.symbol == Kind::Duration.unit();
        units.iter().position(base)
    }

    /// `1:40`.
    fn is_clock(&self, last: &Quantity, next: &Quantity) -> bool {
        let at = last.tokens.end;
        let colon = next.tokens.start == at + 1
            && self.is(at, ':')
            && self.tokens[at].glued
            && self.tokens[at + 1].glued;
        let digits =
            |quantity: &Quantity, most: usize| match &self.tokens[quantity.tokens.start].what {
                What::Number(digits) => digits.decimals == 0 && digits.text.len() <= most,
                _ => false,
            };
        let two = matches!(&self.tokens[next.tokens.start].what, What::Number(digits) if digits.text.len() == 2);
        colon
            && two
            && digits(last, 2)
            && digits(next, 2)
            && next.is_count()
            && last.is_count()
            && next.value < 60.0
    }

    /// "twelve… twelve point five": said over from the start; "a cupful, say 200 ml".
    fn begins_again(&self, last: &Quantity, next: &Quantity) -> bool {
        let put = last.article
            && self.kind(last) == Some(Kind::Volume)
            && self.kind(next) == Some(Kind::Volume)
            && next.tokens.start - last.tokens.end <= 2
            && self.in_class(next.tokens.start.saturating_sub(1), "put-as");
        let between = last.tokens.end..next.tokens.start;
        let pause = between.len() == 1 && self.is(between.start, '…');
        let decimal = next.decimals.is_some_and(|decimals| decimals > 0);
        let same_whole = last.is_count() && (last.value - next.value.trunc()).abs() < f64::EPSILON;
        put || pause && decimal && same_whole && next.upper.is_none()
    }

    /// "the 600 ml bottle one third full", "filled the 2 litre jug to three quarters".
    fn is_filled(&self, last: &Quantity, next: &Quantity) -> bool {
        /// Words between the two.
        const APART: usize = 5;
        let between = last.tokens.end..next.tokens.start;
        self.kind(last) == Some(Kind::Volume)
            && !last.article
            && last.upper.is_none()
            && (1..=APART).contains(&between.len())
            && between
                .clone()
                .all(|at| !self.plain(at).is_empty() || self.is(at, ','))
            && self.is_fraction(next)
            && (self.in_class(next.tokens.end, "filled-up") || self.is_filled_up_to(last, next))
    }

    fn is_filled_up_to(&self, last: &Quantity, next: &Quantity) -> bool {
        /// Tokens from the filling to the vessel.
        const BACK: usize = 4;
        let mut before = last.tokens.start.saturating_sub(BACK)..last.tokens.start;
        let article =
            |at: usize| self.phrases.numbers.find(self.plain(at)) == Some(NumberWord::Article);
        let mut to = next.tokens.start - 1;
        if self.in_class(to, "roughly") || self.in_class(to, "exactly") {
            to -= 1;
        }
        let to = if article(to) { to - 1 } else { to };
        self.in_class(to, "up-to") && before.any(|at| self.in_class(at, "fills"))
    }

    /// "half", "a third", "1/3", of something that is named.
    fn is_fraction(&self, quantity: &Quantity) -> bool {
        let last = self.plain(quantity.tokens.end.saturating_sub(1));
        let word = self.phrases.numbers.find(last);
        let fraction = matches!(word, Some(NumberWord::Fraction(_)))
            || (quantity.decimals.is_none() && quantity.tokens.len() == 3);
        fraction && quantity.unit.is_none() && quantity.value < 1.0
    }

    /// "half a 500 ml bottle".
    fn is_share(&self, last: &Quantity, next: &Quantity) -> bool {
        let between = last.tokens.end..next.tokens.start;
        let word = |at: usize| self.phrases.numbers.find(self.plain(at));
        let fraction = self.is_fraction(last);
        let joins = between
            .clone()
            .all(|at| word(at) == Some(NumberWord::Article) || self.in_class(at, "share-of"));
        fraction
            && joins
            && (1..=2).contains(&between.len())
            && self.kind(next) == Some(Kind::Volume)
            && !next.article
    }

    /// "13 300 ohms": a blank between the thousands.
    fn is_grouped(&self, last: &Quantity, next: &Quantity) -> bool {
        let digits = |quantity: &Quantity| match &self.tokens[quantity.tokens.start].what {
            What::Number(digits) if digits.decimals == 0 => digits.text.len(),
            _ => 0,
        };
        let unit = next.unit.map(|unit| self.phrases.units.unit(unit));
        let large = unit.is_some_and(|unit| matches!(unit.symbol.as_str(), "ohm" | "rpm"));
        let turns = unit.is_some_and(|unit| unit.kind == Kind::Speed);
        // "1 200 ohm", where no terminal 1 can be meant
        let first = last.tokens.start == 0
            || matches!(
                self.tokens[last.tokens.start - 1].what,
                What::Mark('.' | '\n' | '=' | ':')
            );
        // "it has 74 000 on the clock"
        let thousands = next.value == 0.0 && (1..=3).contains(&digits(last));
        last.is_count()
            && last.tokens.end == next.tokens.start
            && digits(next) == 3
            && next.decimals == Some(0)
            && (thousands
                || large && (2..=3).contains(&(digits(last) + usize::from(turns || first))))
    }

    /// "1 min 40", "a minute and ten", "1h30".
    fn has_bare_rest(&self, last: &Quantity, next: &Quantity) -> bool {
        let between = last.tokens.end..next.tokens.start;
        let touching = between.is_empty() || (between.len() == 1 && self.joins(between.start));
        let parted = last.unit.is_some_and(|unit| {
            matches!(self.phrases.units.unit(unit).symbol.as_str(), "min" | "h")
        });
        parted && touching && last.upper.is_none() && next.is_count() && next.value < 60.0
    }

    fn tolerance(&self, last: &Quantity, next: &Quantity) -> bool {
        let from = last.tokens.end;
        let between = from + usize::from(self.is(from, ','))..next.tokens.start;
        let sign = |at: usize| self.is(at, '±');
        let signs = |at: usize| self.is(at, '+') && (self.is(at + 1, '/') || self.is(at + 1, '-'));
        let words = between.clone().filter(|&at| !self.plain(at).is_empty());
        let words: Vec<usize> = words.collect();
        let word_at = |nth: usize| self.tokens[*words.get(nth)?].id();
        let all = |class| self.phrases.classes.longest(class, word_at) == Some(words.len());
        let spelt = all("give-or-take");
        // the sign of "+-6", or the "minus" of "plus or minus", was taken for the number's own
        let taken = next.value < 0.0
            && (between.len() == 1 && self.is(between.start, '+') || all("give-or"));
        taken
            || (between.len() == 1 && sign(between.start))
            || (spelt && between.len() <= 3)
            || ((2..=3).contains(&between.len()) && signs(between.start))
    }

    fn give(&self, _last: &Quantity, next: &Quantity) -> Give {
        let percent = self.in_class(next.tokens.end, "percent");
        if percent || self.is(next.tokens.end, '%') {
            Give::Share(next.value.abs() / 100.0)
        } else {
            Give::By(next.value.abs())
        }
    }

    fn is_range(&self, last: &Quantity, next: &Quantity) -> bool {
        let same = match (self.kind(last), self.kind(next)) {
            (Some(a), Some(b)) => a == b && last.unit == next.unit,
            (None, _) => true,
            // "12 volts to 85 and 86" goes to terminals
            (Some(_), None) => {
                last.value < next.value
                    && next.value <= last.value.max(1.0) * 6.0
                    && !self.in_class(last.tokens.end, "unit-or")
            }
        };
        if !same
            || last.clock
            || next.clock
            || last.upper.is_some()
            || last.article
            || next.article
            || last.value < 0.0
        {
            return false;
        }
        let between = last.tokens.end..next.tokens.start;
        // "Test 1 - 2.9 bar" is the number of a test and what it gave
        let begins = last.tokens.start.checked_sub(1);
        let numbered = begins.is_some_and(|before| self.in_class(before, "numbered"));
        let apart = self.is(between.start, '-') && !self.tokens[between.start].glued;
        if numbered && apart && last.is_count() {
            return false;
        }
        let opened = self.between_before(last.tokens.start);
        match between.len() {
            // 12.4-12.6: the lexer gave the dash to neither
            1 if self.is(between.start, '-') => {
                // "2.9 ohm-0.3 ohm" takes one from the other
                let taken_off = last.unit.is_some() && next.unit.is_some();
                last.value < next.value
                    || !taken_off && next.decimals.is_some_and(|decimals| decimals > 0)
            }
            // 12.4/12.5
            1 if self.is(between.start, '/') => {
                let decimal =
                    |quantity: &Quantity| quantity.decimals.is_some_and(|places| places > 0);
                let glued = self.tokens[between.start].glued && self.tokens[between.end].glued;
                let chained = last.tokens.start > 0 && self.is(last.tokens.start - 1, '/')
                    || self.is(next.tokens.end, '/');
                glued && decimal(last) && decimal(next) && last.value < next.value && !chained
            }
            1 if self.is(between.start, '…') => last.value < next.value,
            1 if self.in_class(between.start, "range-to") => {
                last.value < next.value && !self.changes(last.tokens.start)
            }
            1 if self.in_class(between.start, "range-or") => last.value < next.value,
            1 => opened && self.joins(between.start),
            2 if self.class_end(between.start, "range-up-to") == Some(between.end) => {
                let from = last.tokens.start.checked_sub(1);
                from.is_some_and(|from| self.in_class(from, "range-from"))
                    && last.value < next.value
                    && !self.changes(last.tokens.start)
            }
            2..=4 if opened && self.joins(between.start) => {
                between.len() == 2
                    || (between.start + 1..between.end).all(|at| self.in_class(at, "nearly-an-end"))
            }
            _ => false,
        }
    }

    /// "drops from 12.6 to 10.1" names two readings and no range.
    fn changes(&self, start: usize) -> bool {
        let from = (1..=2).find(|&back| start >= back && self.in_class(start - back, "range-from"));
        let Some(from) = from.map(|back| start - back) else {
            return false;
        };
        let before = from.saturating_sub(2)..from;
        let mut last = from.saturating_sub(1)..from;
        // "jumps around from 1.1 to 3.8" names its ends
        !last.any(|at| self.in_class(at, "wandering"))
            && before.into_iter().any(|at| self.in_class(at, "changes"))
    }

    /// Whether "between" stands before, at most one word away.
    fn between_before(&self, start: usize) -> bool {
        (1..=2).any(|back| start >= back && self.in_class(start - back, "range-between"))
    }

    /// Whether an "and" stands here.
    pub(super) fn joins(&self, at: usize) -> bool {
        self.phrases.numbers.find(self.plain(at)) == Some(NumberWord::And)
    }

    fn is_longer_time(&self, last: &Quantity, next: &Quantity) -> bool {
        let time = |quantity: &Quantity| self.kind(quantity) == Some(Kind::Duration);
        let between = last.tokens.end..next.tokens.start;
        let joins = |at| self.is(at, ',') || self.joins(at);
        let touching = between.is_empty() || (between.len() == 1 && joins(between.start));
        if !(time(last) && time(next) && touching) || next.article {
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
