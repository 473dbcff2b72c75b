//! Units as riders write them, with the arithmetic to the base unit.

use super::file::{NumberSaid, UnitSaid};
use crate::quantity::Kind;
use std::collections::BTreeMap;

/// A unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// What it measures.
    pub kind: Kind,
    /// Symbol, as the reply shows it.
    pub symbol: String,
    minus: f64,
    times: f64,
    over: f64,
    /// Range of numbers that are in this unit when none is said.
    pub bare: Option<[f64; 2]>,
    /// Whether it counts only where a number of its kind is asked for.
    pub only_asked: bool,
    /// Letters that stand for its decimal point: the `R` of `4R7`.
    pub letters: Vec<char>,
    /// Position of another unit that goes by the same name.
    pub twin: Option<usize>,
}

impl Unit {
    /// A number in this unit, in the base unit of its kind.
    ///
    /// Decimal factors divide rather than multiply, so that 300 mV is 0.3 V to the last bit.
    #[must_use]
    pub fn to_base(&self, value: f64) -> f64 {
        (value - self.minus) * self.times / self.over
    }

    /// The number in this unit that stands for a value in the base unit.
    #[must_use]
    pub fn from_base(&self, value: f64) -> f64 {
        value * self.over / self.times + self.minus
    }

    /// The size of a step of this unit, in the base unit.
    #[must_use]
    pub fn step(&self, step: f64) -> f64 {
        step * self.times / self.over
    }
}

/// One way to write a unit, as the tokens it is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Form {
    /// Lower-case tokens, or tokens as they are where `exact`.
    pub tokens: Vec<String>,
    /// Whether upper and lower case matter.
    pub exact: bool,
    /// Whether it must touch the number, or be a capital.
    pub tight: bool,
    /// Position of the unit.
    pub unit: usize,
}

/// All units.
#[derive(Debug, Clone, Default)]
pub struct Units {
    list: Vec<Unit>,
    /// By first token in lower case; exact forms first, then longest first.
    forms: BTreeMap<String, Vec<Form>>,
    /// By volume and time.
    flows: BTreeMap<(usize, usize), usize>,
}

impl Units {
    pub(super) fn new(said: &[UnitSaid]) -> Self {
        let mut made = Self::default();
        for (at, unit) in said.iter().enumerate() {
            made.list.push(Unit {
                kind: unit.kind,
                symbol: unit.symbol.clone(),
                minus: unit.minus,
                times: unit.times,
                over: unit.over,
                bare: unit.bare,
                only_asked: unit.only_asked,
                letters: unit.letters.clone(),
                twin: unit
                    .twin
                    .as_ref()
                    .and_then(|twin| said.iter().position(|other| other.symbol == *twin)),
            });
            for (texts, exact, tight) in [
                (&unit.said, false, false),
                (&unit.exact, true, false),
                (&unit.tight, false, true),
            ] {
                for text in texts {
                    made.add(Form {
                        tokens: pieces(text, exact),
                        exact,
                        tight,
                        unit: at,
                    });
                }
            }
        }
        made.add_flows();
        for forms in made.forms.values_mut() {
            forms.sort_by_key(|form| {
                (
                    std::cmp::Reverse(form.tokens.len()),
                    !form.exact,
                    form.tight,
                )
            });
        }
        made
    }

    /// A flow for each volume and each time, which riders put together as they like: "cups a minute".
    fn add_flows(&mut self) {
        let of_kind = |kind: Kind| {
            let units = self.list.iter().enumerate();
            units.filter(move |(_, unit)| unit.kind == kind && !unit.only_asked)
        };
        let mut flows = Vec::new();
        for (volume, of) in of_kind(Kind::Volume) {
            for (time, by) in of_kind(Kind::Duration) {
                let place = self.list.len() + flows.len();
                self.flows.insert((volume, time), place);
                flows.push(Unit {
                    kind: Kind::Flow,
                    symbol: format!("{}/{}", of.symbol, by.symbol),
                    minus: 0.0,
                    times: of.times * 60.0,
                    over: of.over * by.step(1.0),
                    bare: None,
                    only_asked: false,
                    letters: Vec::new(),
                    twin: None,
                });
            }
        }
        self.list.extend(flows);
    }

    /// Position of the flow of that volume in that time.
    #[must_use]
    pub fn flow(&self, volume: usize, time: usize) -> Option<usize> {
        self.flows.get(&(volume, time)).copied()
    }

    fn add(&mut self, form: Form) {
        if let Some(first) = form.tokens.first() {
            self.forms
                .entry(first.to_lowercase())
                .or_default()
                .push(form);
        }
    }

    /// The unit of that position.
    #[must_use]
    pub fn unit(&self, at: usize) -> &Unit {
        &self.list[at]
    }

    /// All units.
    #[must_use]
    pub fn all(&self) -> &[Unit] {
        &self.list
    }

    /// Position of the unit whose decimal point this letter stands for.
    #[must_use]
    pub fn lettered(&self, letter: char) -> Option<usize> {
        self.list
            .iter()
            .position(|unit| unit.letters.contains(&letter))
    }

    /// Forms that begin with this token, the best first.
    #[must_use]
    pub fn beginning(&self, token: &str) -> &[Form] {
        self.forms.get(token).map_or(&[], Vec::as_slice)
    }

    /// The unit of that symbol.
    #[must_use]
    pub fn symbol(&self, symbol: &str) -> Option<&Unit> {
        self.list.iter().find(|unit| unit.symbol == symbol)
    }

    /// The unit of a number without one, of a known kind.
    #[must_use]
    pub fn bare(&self, kind: Kind, value: f64) -> Option<&Unit> {
        self.list.iter().find(|unit| {
            let within = |[low, high]: [f64; 2]| (low..high).contains(&value.abs());
            unit.kind == kind && unit.bare.is_some_and(within)
        })
    }
}

/// Letters and digits run together; every other sign stands alone.
fn pieces(text: &str, exact: bool) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let mut joined = false;
    for c in text.chars() {
        if c.is_whitespace() {
            joined = false;
        } else if c.is_alphanumeric() && joined {
            pieces.last_mut().expect("a piece is begun").push(c);
        } else {
            pieces.push(c.to_string());
            joined = c.is_alphanumeric();
        }
    }
    if !exact {
        for piece in &mut pieces {
            *piece = piece.to_lowercase();
        }
    }
    pieces
}

/// Number words.
#[derive(Debug, Clone, Default)]
pub struct NumberWords {
    words: BTreeMap<String, NumberWord>,
    order: BTreeMap<String, f64>,
}

/// What a word does in a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NumberWord {
    /// Zero to nineteen.
    Small(f64),
    /// Twenty to ninety.
    Tens(f64),
    /// Hundred, thousand.
    Scale(f64),
    /// The `k` of `4.7k`, which says what is measured no more than the number does.
    Kilo(f64),
    /// Half, quarter.
    Fraction(f64),
    /// A couple, a dozen.
    Group(f64),
    /// The decimal point.
    Point,
    /// Joins.
    And,
    /// A, an.
    Article,
    /// A minus sign.
    Minus,
    /// After a number that was taken off: "minus 0.2 for the leads".
    From,
    /// What has a minus of its own: "battery minus 0.05".
    Poled,
    /// Zero, but only before the point: "oh point four".
    Oh,
    /// Tenths that were not read: "8 point something".
    Vague,
}

impl NumberWords {
    pub(super) fn new(said: &NumberSaid) -> Self {
        let mut words = BTreeMap::new();
        let mut valued = |table: &BTreeMap<String, f64>, make: fn(f64) -> NumberWord| {
            words.extend(
                table
                    .iter()
                    .map(|(word, &value)| (word.clone(), make(value))),
            );
        };
        valued(&said.small, NumberWord::Small);
        valued(&said.tens, NumberWord::Tens);
        valued(&said.scale, NumberWord::Scale);
        valued(&said.kilo, NumberWord::Kilo);
        valued(&said.fraction, NumberWord::Fraction);
        valued(&said.group, NumberWord::Group);
        let mut plain = |list: &[String], what: NumberWord| {
            words.extend(list.iter().map(|word| (word.clone(), what)));
        };
        plain(&said.point, NumberWord::Point);
        plain(&said.and, NumberWord::And);
        plain(&said.article, NumberWord::Article);
        plain(&said.minus, NumberWord::Minus);
        plain(&said.from, NumberWord::From);
        plain(&said.poled, NumberWord::Poled);
        plain(&said.oh, NumberWord::Oh);
        plain(&said.vague, NumberWord::Vague);
        Self {
            words,
            order: said.order.clone(),
        }
    }

    /// Which of several the lower-case word names, from 1 for the first.
    #[must_use]
    pub fn order(&self, word: &str) -> Option<f64> {
        self.order.get(word).copied()
    }

    /// What the lower-case word does in a number.
    #[must_use]
    pub fn find(&self, word: &str) -> Option<NumberWord> {
        self.words.get(word).copied()
    }

    /// Every number word.
    pub fn all(&self) -> impl Iterator<Item = &str> {
        self.words.keys().map(String::as_str)
    }
}
