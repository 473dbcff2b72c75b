//! Units that stand before their number, as on a list of measurements: "V 11.6, A 3.9".

use super::{Quantity, Reader};
use crate::knowledge::phrase::NumberWord;
use crate::language::token::What;
use crate::quantity::Kind;
use std::ops::Range;

/// Tokens on either side in which other letters tell a unit from the name of a wire.
const NEAR: usize = 40;

/// A unit named for a whole list.
struct Heading {
    /// Where its list begins.
    start: usize,
    unit: usize,
    /// Whether it stands before its list; otherwise only decimals are taken to be of it.
    leads: bool,
}

impl Reader<'_> {
    /// Gives a number without a unit the one that labels it; `from` is where the last number ended.
    pub(super) fn labelled(&self, quantity: Quantity, from: usize) -> Quantity {
        let start = quantity.tokens.start;
        let sign = start
            .checked_sub(1)
            .is_some_and(|at| [':', '='].iter().any(|&mark| self.is(at, mark)));
        let Some(at) = start.checked_sub(1 + usize::from(sign)) else {
            return quantity;
        };
        let bare = quantity.unit.is_none() && !quantity.kilo;
        if !bare || at < from || !self.ends_an_entry(quantity.tokens.end) {
            return quantity;
        }
        let unit = self.label(at).filter(|_| self.is_label(at));
        Quantity {
            unit: unit.or(quantity.unit),
            ..quantity
        }
    }

    /// Gives the numbers of a list the unit in its heading: "fuel psi: key on 45, idle 43".
    pub(super) fn headed(&self, quantities: &mut [Quantity]) {
        let headings = self.headings();
        let mut from = 0;
        for (nth, heading) in headings.iter().enumerate() {
            let Heading { start, unit, .. } = heading;
            let next = headings.get(nth + 1).map(|heading| heading.start);
            let end = self.list_end(*start..next.unwrap_or(self.tokens.len()));
            while from < quantities.len() && quantities[from].tokens.start < *start {
                from += 1;
            }
            for quantity in &mut quantities[from..] {
                let bare = quantity.unit.is_none() && !quantity.kilo && !quantity.article;
                if quantity.tokens.start >= end {
                    break;
                }
                let decimal = quantity.decimals.is_some_and(|decimals| decimals > 0);
                let fits = decimal || heading.leads;
                if bare && fits && self.ends_an_entry(quantity.tokens.end) {
                    quantity.unit = Some(*unit);
                }
            }
        }
    }

    /// Gives the numbers of a bare list the unit after its last: "11.8, 11.9, 11.8, 2.1 ohms".
    pub(super) fn listed(&self, quantities: &mut [Quantity]) {
        /// Bare numbers before the one with the unit.
        const BEFORE: usize = 2;
        for last in (1..quantities.len()).rev() {
            let unit = quantities[last]
                .unit
                .filter(|_| !self.is_timed(&quantities[last]));
            let (Some(unit), Some(places)) = (unit, quantities[last].decimals) else {
                continue;
            };
            let whole = places == 0;
            let member = |at: &usize| {
                let (this, next) = (&quantities[*at], &quantities[*at + 1]);
                let bare = this.unit.is_none() && !this.kilo && this.upper.is_none();
                let alike = this.decimals.is_some_and(|places| whole == (places == 0));
                bare && alike && self.parts(this, next)
            };
            let first = (0..last).rev().take_while(member).last().unwrap_or(last);
            let list = &quantities[first..=last];
            let many = last - first >= BEFORE;
            let stands = many && (!whole || self.opens(&list[0]) || are_near(list, TIMES));
            if stands || first < last && whole && are_near(list, PAIR) {
                for quantity in &mut quantities[first..last] {
                    quantity.unit = Some(unit);
                }
            }
        }
    }

    /// Gives the numbers after one with a unit the same: "AC volts 62/61/62".
    pub(super) fn chained(&self, quantities: &mut [Quantity]) {
        for at in 1..quantities.len() {
            let (before, this) = (&quantities[at - 1], &quantities[at]);
            let between = before.tokens.end..this.tokens.start;
            let slash = between.len() == 1 && self.is(between.start, '/');
            let bare = this.unit.is_none() && !this.kilo && this.upper.is_none();
            let alike =
                before.decimals == this.decimals && are_near(&quantities[at - 1..=at], TIMES);
            if slash && bare && alike && !self.is_timed(before) {
                quantities[at].unit = before.unit;
            }
        }
    }

    /// Whether nothing but a comma, a slash or an "and" stands between two numbers.
    fn parts(&self, this: &Quantity, next: &Quantity) -> bool {
        let mut between = this.tokens.end..next.tokens.start;
        let sign = |at: usize| self.is(at, ',') || self.is(at, '/') || self.joins(at);
        !between.is_empty() && between.all(sign)
    }

    /// "52, 51 and 18 volts": whether a colon opens the list that begins with this number.
    fn opens(&self, first: &Quantity) -> bool {
        let before = first.tokens.start.checked_sub(1);
        before.is_some_and(|before| self.is(before, ':'))
    }

    fn is_timed(&self, quantity: &Quantity) -> bool {
        matches!(self.kind(quantity), Some(Kind::Duration | Kind::Flow))
    }

    /// Gives two numbers the unit that is said to be that of both: "left 9.5, right 8.5, both inHg".
    pub(super) fn both(&self, quantities: &mut [Quantity]) {
        for at in 0..self.tokens.len() {
            let label = self.class_end(at, "both-in");
            let Some((unit, end)) = label.and_then(|label| self.unit(label, false)) else {
                continue;
            };
            let before = quantities.partition_point(|quantity| quantity.tokens.end <= at);
            let bare = |quantity: &Quantity| {
                quantity.unit.is_none() && !quantity.kilo && !quantity.article
            };
            if let [.., first, second] = &mut quantities[..before]
                && bare(first)
                && bare(second)
                && self.ends_an_entry(end)
            {
                (first.unit, second.unit) = (Some(unit), Some(unit));
            }
        }
    }

    fn headings(&self) -> Vec<Heading> {
        /// Words between the unit and the colon.
        const APART: usize = 4;
        let mut found: Vec<Heading> = self.all_in().into_iter().collect();
        let mut named: Option<(usize, usize)> = None;
        for at in 0..self.tokens.len() {
            match &self.tokens[at].what {
                What::Word(_) => {
                    let unit = self.label(at).filter(|_| self.is_label(at));
                    named = unit.map(|unit| (at, unit)).or(named);
                }
                What::Mark(':') => {
                    let near = named.filter(|(word, _)| at - word <= APART);
                    found.extend(near.map(|(_, unit)| Heading {
                        start: at + 1,
                        unit,
                        leads: true,
                    }));
                    named = None;
                }
                What::Mark(',') => {}
                What::Mark(_) | What::Number(_) => named = None,
            }
        }
        found
    }

    /// "All in volts", with the numbers before or after it.
    fn all_in(&self) -> Option<Heading> {
        let mut all = 0..self.tokens.len();
        let (at, label) = all.find_map(|at| Some((at, self.class_end(at, "all-in")?)))?;
        Some(Heading {
            start: 0,
            unit: self.label(label)?,
            leads: at == 0,
        })
    }

    /// Where a list ends: with its line, or where it is written in lines with an empty one.
    fn list_end(&self, within: Range<usize>) -> usize {
        let line = |at: &usize| self.is(*at, '\n');
        let in_lines = line(&within.start);
        let mut rest = within.start + usize::from(in_lines)..within.end;
        let end = rest.find(|at| line(at) && (!in_lines || line(&(at + 1))));
        end.unwrap_or(within.end)
    }

    /// The unit that the one word at a token names.
    fn label(&self, at: usize) -> Option<usize> {
        let (unit, end) = self.unit(at, false)?;
        let kind = self.phrases.units.unit(unit).kind;
        let measured = matches!(
            kind,
            Kind::Voltage | Kind::Current | Kind::Resistance | Kind::Pressure
        );
        (end == at + 1 && measured).then_some(unit)
    }

    /// Whether a word is written as a unit is; "phase A 0.7, phase B 0.8" names wires.
    fn is_label(&self, at: usize) -> bool {
        let What::Word(word) = &self.tokens[at].what else {
            return false;
        };
        let written = |letters: &[&str]| {
            let raw = |at: usize| match &self.tokens[at].what {
                What::Word(word) => letters.contains(&word.raw.as_str()),
                _ => false,
            };
            (at.saturating_sub(NEAR)..(at + NEAR).min(self.tokens.len())).any(raw)
        };
        // "zip tied to the bars: 43 psi"
        let article = at > 0 && self.in_class(at - 1, "before-letters");
        let after_number = at > 0
            && (matches!(self.tokens[at - 1].what, What::Number(_))
                || matches!(
                    self.phrases.numbers.find(self.plain(at - 1)),
                    Some(NumberWord::Small(_) | NumberWord::Tens(_) | NumberWord::Scale(_))
                ));
        match word.raw.as_str() {
            _ if after_number || article => false,
            "V" => true,
            "Ω" if self.is(at + 1, ':') => true,
            // "A: 12.6, B: 11.9" are points that go by letters
            "A" => (self.is(at + 1, ':') || written(&["V"])) && !written(&["B", "C"]),
            raw => raw.chars().count() > 1,
        }
    }

    /// Whether an entry of a list ends at a token.
    pub(super) fn ends_an_entry(&self, at: usize) -> bool {
        let Some(token) = self.tokens.get(at) else {
            return true;
        };
        match &token.what {
            What::Mark(mark) => {
                matches!(mark, ',' | '.' | ';' | '/' | '\n' | '|' | ')' | '-' | '…')
            }
            What::Word(_) => self.in_class(at, "entry-end"),
            What::Number(_) => false,
        }
    }
}

/// How many times the least of a list the largest may be, for all to be of one unit.
const TIMES: f64 = 2.0;
/// The same of only two: "165/160 psi", and not "12/24 volts".
const PAIR: f64 = 1.3;

/// Whether the numbers of a list may be of one unit: none counts or numbers a thing, and none is a year or a part
/// beside what was measured.
fn are_near(list: &[Quantity], times: f64) -> bool {
    /// What may be a count, a pin or a cylinder.
    const FEW: f64 = 10.0;
    let values = || list.iter().map(|quantity| quantity.value);
    let least = values().fold(f64::INFINITY, f64::min);
    least >= FEW && values().all(|value| value <= times * least)
}
