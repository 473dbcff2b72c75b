//! Finds every phrase in every sentence.

use super::quantity::Quantity;
use super::sentence::Sentence;
use super::token::{Token, What};
use crate::knowledge::phrase::class::ClassIx;
use crate::knowledge::phrase::pattern::{Sort, Step};
use crate::knowledge::phrase::{Cue, Meaning, Phrase, Phrases, Role, SequenceIx};
use crate::quantity::Kind;
use std::ops::Range;

/// Words a gap may stand for.
const GAP: usize = 4;
/// Small words that may be skipped between two words of a phrase.
const SKIPPED: usize = 3;
/// Steps one try of one sequence may take; no phrase comes near it.
const TRIES: usize = 400;

/// A message ready to be searched.
#[derive(Debug)]
pub struct Text<'a> {
    /// Its tokens.
    pub tokens: &'a [Token],
    /// Its quantities.
    pub quantities: &'a [Quantity],
    /// Its sentences.
    pub sentences: &'a [Sentence],
    /// What is known.
    pub phrases: &'a Phrases,
    number_at: Vec<Option<usize>>,
    classes_at: Vec<Vec<(ClassIx, usize)>>,
}

/// A phrase found.
#[derive(Debug, Clone, PartialEq)]
pub struct Hit<'a> {
    /// The phrase.
    pub phrase: &'a Phrase,
    /// Tokens of its first part, gaps included.
    pub head: Range<usize>,
    /// Tokens its words stand on, all parts, in order.
    pub used: Vec<usize>,
    /// The quantities its `#` stand on.
    pub numbers: Vec<usize>,
    /// Position of its sentence.
    pub sentence: usize,
}

/// One part found.
#[derive(Debug, Clone)]
struct Part {
    sequence: SequenceIx,
    range: Range<usize>,
    used: Vec<usize>,
    numbers: Vec<usize>,
}

impl<'a> Text<'a> {
    /// Prepares a message.
    #[must_use]
    pub fn new(
        tokens: &'a [Token],
        quantities: &'a [Quantity],
        sentences: &'a [Sentence],
        phrases: &'a Phrases,
    ) -> Self {
        let mut number_at = vec![None; tokens.len()];
        for (at, quantity) in quantities.iter().enumerate() {
            number_at[quantity.tokens.start] = Some(at);
        }
        let mut classes_at = vec![Vec::new(); tokens.len()];
        for sentence in sentences {
            for at in sentence.tokens.clone() {
                let word_at = |ahead: usize| tokens[..sentence.tokens.end].get(at + ahead)?.id();
                phrases.classes.walk(word_at, |class, length| {
                    classes_at[at].push((class, length));
                });
                classes_at[at].sort_by_key(|&(_, length)| std::cmp::Reverse(length));
            }
        }
        Self {
            tokens,
            quantities,
            sentences,
            phrases,
            number_at,
            classes_at,
        }
    }

    /// Every phrase found, sentence by sentence.
    #[must_use]
    pub fn hits(&self) -> Vec<Hit<'a>> {
        let mut all = Vec::new();
        for (at, sentence) in self.sentences.iter().enumerate() {
            let mut hits = self.in_sentence(at, sentence);
            hits.sort_by(|a, b| {
                (a.used.first(), b.used.len()).cmp(&(b.used.first(), a.used.len()))
            });
            all.extend(keep_longest(&hits));
        }
        all
    }

    fn in_sentence(&self, at: usize, sentence: &Sentence) -> Vec<Hit<'a>> {
        let parts = self.parts(sentence);
        let mut hits = Vec::new();
        for part in &parts {
            for &phrase in &self.phrases.heads[part.sequence as usize] {
                let phrase = &self.phrases.phrases[phrase as usize];
                if let Some(hit) = complete(phrase, part, &parts, at) {
                    hits.push(hit);
                }
            }
        }
        hits
    }

    fn parts(&self, sentence: &Sentence) -> Vec<Part> {
        let mut parts = Vec::new();
        for at in sentence.tokens.clone() {
            let worded = self.tokens[at]
                .id()
                .map_or(&[][..], |id| &self.phrases.starts[id.at()]);
            let numbered = if self.number_at[at].is_some() {
                &self.phrases.number_starts[..]
            } else {
                &[]
            };
            for &sequence in worded.iter().chain(numbered) {
                let steps = &self.phrases.sequences[sequence as usize];
                let mut walker = Walker {
                    text: self,
                    end: sentence.tokens.end,
                    start: at,
                    used: Vec::new(),
                    numbers: Vec::new(),
                    tries: 0,
                };
                if let Some(end) = walker.run(Rest { steps, next: None }, at) {
                    parts.push(Part {
                        sequence,
                        range: at..end,
                        used: walker.used,
                        numbers: walker.numbers,
                    });
                }
            }
        }
        parts
    }

    /// Position of the sentence of a token.
    #[must_use]
    pub fn sentence_of(&self, token: usize) -> usize {
        let after = self
            .sentences
            .partition_point(|sentence| sentence.tokens.end <= token);
        after.min(self.sentences.len().saturating_sub(1))
    }

    /// Position of the quantity that a token is part of.
    #[must_use]
    pub fn quantity_over(&self, token: usize) -> Option<usize> {
        let at = self
            .quantities
            .partition_point(|quantity| quantity.tokens.end <= token);
        self.quantities
            .get(at)
            .filter(|quantity| quantity.tokens.contains(&token))
            .map(|_| at)
    }

    /// Whether a member of the class begins at the token.
    #[must_use]
    pub fn in_class(&self, at: usize, class: &str) -> bool {
        let Some(class) = self.phrases.classes.position(class) else {
            return false;
        };
        self.classes_at
            .get(at)
            .is_some_and(|found| found.iter().any(|&(known, _)| known == class))
    }

    /// Whether the token is a small word or a sign that may be passed over.
    #[must_use]
    pub fn is_filler(&self, at: usize) -> bool {
        match &self.tokens[at].what {
            What::Word(word) => word.id.is_some_and(|id| self.phrases.classes.is_filler(id)),
            What::Mark(mark) => matches!(mark, '(' | ')' | ':' | '=' | '/' | '.'),
            What::Number(_) => false,
        }
    }
}

/// The phrase, if all its other parts stand in the sentence too.
fn complete<'a>(
    phrase: &'a Phrase,
    head: &Part,
    parts: &[Part],
    sentence: usize,
) -> Option<Hit<'a>> {
    let (mut used, mut numbers) = (head.used.clone(), head.numbers.clone());
    for &other in &phrase.parts[1..] {
        let apart = |part: &&Part| {
            part.sequence == other && part.used.iter().all(|token| !used.contains(token))
        };
        let nearest = parts
            .iter()
            .filter(apart)
            .min_by_key(|part| part.range.start.abs_diff(head.range.start))?;
        used.extend(&nearest.used);
        numbers.extend(&nearest.numbers);
    }
    used.sort_unstable();
    Some(Hit {
        phrase,
        head: head.range.clone(),
        used,
        numbers,
        sentence,
    })
}

/// Drops what only repeats part of a longer phrase of the same sort.
fn keep_longest<'a>(hits: &[Hit<'a>]) -> Vec<Hit<'a>> {
    let mut kept: Vec<Hit<'a>> = Vec::new();
    for (at, hit) in hits.iter().enumerate() {
        let covered = hits.iter().enumerate().any(|(other_at, other)| {
            let longer = other.used.len() > hit.used.len()
                || (other.used == hit.used
                    && other.phrase.meaning == hit.phrase.meaning
                    && other_at < at);
            longer
                && competes(&hit.phrase.meaning, &other.phrase.meaning)
                && hit
                    .used
                    .iter()
                    .all(|token| other.used.binary_search(token).is_ok())
        });
        if !covered {
            kept.push(hit.clone());
        }
    }
    kept
}

/// Whether a phrase of one meaning may swallow a shorter one of another.
fn competes(one: &Meaning, other: &Meaning) -> bool {
    let bound = |role: &Role| matches!(role, Role::AtMost | Role::AtLeast | Role::About);
    match (one, other) {
        (Meaning::Hazard { id: a, .. }, Meaning::Hazard { id: b, .. }) => a == b,
        (Meaning::Role(a), Meaning::Role(b)) => bound(a) == bound(b),
        (Meaning::Outcome(a, _), Meaning::Outcome(b, _)) => a == b,
        (Meaning::Cue(_), Meaning::Answer(_)) => false,
        (Meaning::Symptom { .. } | Meaning::Hazard { .. }, Meaning::Cue(Cue::Nothing)) => true,
        (one, other) => std::mem::discriminant(one) == std::mem::discriminant(other),
    }
}

/// Steps still to match, and those after them.
#[derive(Clone, Copy)]
struct Rest<'s> {
    steps: &'s [Step],
    next: Option<&'s Rest<'s>>,
}

struct Walker<'t, 'a> {
    text: &'t Text<'a>,
    start: usize,
    end: usize,
    used: Vec<usize>,
    numbers: Vec<usize>,
    tries: usize,
}

impl Walker<'_, '_> {
    /// The token after the match, if the steps match from `at` on.
    fn run(&mut self, rest: Rest<'_>, at: usize) -> Option<usize> {
        self.tries += 1;
        if self.tries > TRIES {
            return None;
        }
        let Some((step, steps)) = rest.steps.split_first() else {
            return match rest.next {
                Some(next) => self.run(*next, at),
                None => Some(at),
            };
        };
        let after = Rest {
            steps,
            next: rest.next,
        };
        match step {
            Step::Any(options) => self.options(options, after, at),
            Step::Maybe(options) => self
                .options(options, after, at)
                .or_else(|| self.run(after, at)),
            Step::Gap => self.gap(after, at),
            Step::Words(_) | Step::Class(_) | Step::Number(_) => self.solid(step, after, at),
        }
    }

    fn options(&mut self, options: &[Vec<Step>], after: Rest<'_>, at: usize) -> Option<usize> {
        options.iter().find_map(|option| {
            self.run(
                Rest {
                    steps: option,
                    next: Some(&after),
                },
                at,
            )
        })
    }

    fn gap(&mut self, after: Rest<'_>, from: usize) -> Option<usize> {
        let (mut at, mut words) = (from, 0);
        loop {
            if let Some(end) = self.run(after, at) {
                return Some(end);
            }
            if at >= self.end
                || words >= GAP
                || self.text.in_class(at, "contrast")
                || self.text.tokens[at].is(';')
            {
                return None;
            }
            words += usize::from(!self.text.is_filler(at));
            at += 1;
        }
    }

    /// A word, a class or a number, after small words if need be.
    fn solid(&mut self, step: &Step, after: Rest<'_>, from: usize) -> Option<usize> {
        for at in from..self.end.min(from + SKIPPED) {
            if let Some(end) = self.here(step, after, at) {
                return Some(end);
            }
            let passed = self.text.is_filler(at)
                || matches!(step, Step::Number(_)) && self.text.in_class(at, "approximating");
            if at == self.start || !passed {
                return None;
            }
        }
        None
    }

    fn here(&mut self, step: &Step, after: Rest<'_>, at: usize) -> Option<usize> {
        match step {
            Step::Words(words) => {
                let id = self.text.tokens[at].id()?;
                words.binary_search(&id).ok()?;
                self.take(at..at + 1, None, after)
            }
            Step::Number(sort) => {
                let number = self.text.number_at[at]?;
                let quantity = &self.text.quantities[number];
                let unit = quantity.unit.map(|unit| self.text.phrases.units.unit(unit));
                let fits = match sort {
                    Sort::Any => true,
                    Sort::Kind(kind) => unit.is_some_and(|unit| unit.kind == *kind),
                    Sort::Unit(symbol) => unit.is_some_and(|unit| unit.symbol == *symbol),
                    Sort::Count => quantity.is_count(),
                    Sort::Whole => quantity.is_whole(),
                    Sort::Fuse => {
                        let current = unit.is_some_and(|unit| unit.kind == Kind::Current);
                        current && quantity.is_fuse_size()
                    }
                    Sort::Range => quantity.is_meter_range(),
                    Sort::One => quantity.is_count() && quantity.is_one(),
                };
                fits.then_some(())?;
                (quantity.tokens.end <= self.end).then_some(())?;
                self.take(quantity.tokens.clone(), Some(number), after)
            }
            Step::Class(class) => {
                let ends: Vec<usize> = self.text.classes_at[at]
                    .iter()
                    .filter(|(known, _)| known == class)
                    .map(|&(_, length)| at + length)
                    .collect();
                ends.into_iter()
                    .find_map(|end| self.take(at..end, None, after))
            }
            Step::Gap | Step::Any(_) | Step::Maybe(_) => None,
        }
    }

    /// Uses the tokens and goes on; gives them back if the rest does not match.
    fn take(
        &mut self,
        tokens: Range<usize>,
        number: Option<usize>,
        after: Rest<'_>,
    ) -> Option<usize> {
        let (used, numbers) = (self.used.len(), self.numbers.len());
        self.used.extend(tokens.clone());
        self.numbers.extend(number);
        let end = self.run(after, tokens.end);
        if end.is_none() {
            self.used.truncate(used);
            self.numbers.truncate(numbers);
        }
        end
    }
}
