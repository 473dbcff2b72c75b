//! Finds every phrase in every sentence.

use super::quantity::Quantity;
use super::sentence::Sentence;
use super::token::{Token, What};
use crate::knowledge::phrase::class::ClassIx;
use crate::knowledge::phrase::{Cue, Meaning, Phrase, Phrases};
use std::collections::BTreeSet;
use std::ops::Range;

mod choose;
mod parts;
mod present;
mod walker;

use parts::{Part, Parts};

/// Sentences that a phrase may look back over.
const BACK: usize = 2;

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
    /// Tokens of figures of speech, which tell nothing.
    figurative: BTreeSet<usize>,
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

impl Hit<'_> {
    /// Whether it says of a condition of safe work that it holds.
    #[must_use]
    pub fn confirms(&self) -> bool {
        matches!(self.phrase.meaning, Meaning::Condition { holds: true, .. })
    }
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
            figurative: BTreeSet::new(),
            number_at,
            classes_at,
        }
    }

    /// The same with what is a figure of speech among the phrases found marked as such.
    #[must_use]
    pub fn without_figures(mut self, hits: &[Hit<'_>]) -> Self {
        let figures = hits
            .iter()
            .filter(|hit| hit.phrase.meaning == Meaning::Cue(Cue::Figurative));
        self.figurative = figures.flat_map(|hit| hit.used.iter().copied()).collect();
        self
    }

    /// Every phrase found, sentence by sentence.
    #[must_use]
    pub fn hits(&self) -> Vec<Hit<'a>> {
        let mut all = Vec::new();
        let mut earlier: [Parts; BACK] = std::array::from_fn(|_| Parts::default());
        for (at, sentence) in self.sentences.iter().enumerate() {
            let parts = Parts::of(self.parts(sentence));
            let mut hits = self.in_sentence(at, &parts, &earlier);
            if self.goes_on(at) {
                let mut over = self.over_the_end(at, &parts, &earlier);
                over.retain(|hit| !repeats(&all, hit));
                hits.extend(over);
            }
            hits.sort_by(|a, b| {
                (a.used.first(), b.used.len()).cmp(&(b.used.first(), a.used.len()))
            });
            all.extend(choose::keep_longest(&hits));
            earlier.rotate_right(1);
            earlier[0] = parts;
        }
        all
    }

    fn in_sentence(&self, at: usize, parts: &Parts, earlier: &[Parts]) -> Vec<Hit<'a>> {
        let mut hits = Vec::new();
        for part in parts.iter() {
            for &phrase in &self.phrases.heads[part.sequence as usize] {
                let phrase = &self.phrases.phrases[phrase as usize];
                let before = if phrase.looks_back { earlier } else { &[] };
                if let Some(hit) = choose::complete(phrase, part, (parts, before), at) {
                    hits.push(hit);
                }
            }
        }
        hits
    }

    /// Phrases begun in the sentence before: "Charged the battery. It got hot."
    fn over_the_end(&self, at: usize, parts: &Parts, earlier: &[Parts]) -> Vec<Hit<'a>> {
        let start = self.sentences[at].tokens.start;
        let mut crossing = self.parts_in(
            self.sentences[at - 1].tokens.clone(),
            self.sentences[at].tokens.end,
        );
        crossing.retain(|part| part.range.end > start);
        let heads = crossing.iter().map(|part| (part, false));
        let heads = heads.chain(parts.iter().map(|part| (part, true)));
        let mut hits = Vec::new();
        for (part, own) in heads {
            for &phrase in &self.phrases.heads[part.sequence as usize] {
                let phrase = &self.phrases.phrases[phrase as usize];
                let told = matches!(
                    phrase.meaning,
                    Meaning::Symptom { .. }
                        | Meaning::Hazard { .. }
                        | Meaning::Outcome(..)
                        | Meaning::System(_)
                );
                // a phrase of one part within the sentence has been found already
                if !told || (own && (phrase.parts.len() == 1 || phrase.looks_back)) {
                    continue;
                }
                hits.extend(choose::complete(phrase, part, (parts, &earlier[..1]), at));
            }
        }
        hits
    }

    /// Whether a sentence goes on from the one before: "It drips.", "Both dry.", but not "Spark: no."
    #[must_use]
    pub fn goes_on(&self, at: usize) -> bool {
        const SHORT: usize = 4;
        const HEADING: usize = 3;
        const NAME: usize = 3;
        let Some(before) = at.checked_sub(1).map(|before| &self.sentences[before]) else {
            return false;
        };
        let tokens = self.sentences[at].tokens.clone();
        let last = before.tokens.end - 1;
        let words = || {
            let word = |&at: &usize| self.tokens[at].plain().is_some();
            tokens.clone().filter(word)
        };
        let Some(first) = words().next() else {
            return false;
        };
        let short = words().take(SHORT + 1).count() <= SHORT
            && !self.tokens[last].is('\n')
            && !self.in_class(first, "begins");
        // "Hot? Forget it.": a question of a word or two only names what is told
        let named = before.tokens.len() <= HEADING;
        let item = tokens
            .clone()
            .take(NAME + 1)
            .any(|at| self.tokens[at].is(':'));
        !item && (!before.asks || named) && (short || self.in_class(first, "resumes"))
    }

    fn parts(&self, sentence: &Sentence) -> Vec<Part> {
        self.parts_in(sentence.tokens.clone(), sentence.tokens.end)
    }

    /// The parts that begin within these tokens and end before the last.
    fn parts_in(&self, tokens: Range<usize>, last: usize) -> Vec<Part> {
        let mut parts = Vec::new();
        let present = present::Present::of(self, tokens.start..last);
        for at in tokens {
            let worded = self.tokens[at]
                .id()
                .map_or(&[][..], |id| &self.phrases.starts[id.at()]);
            let numbered = if self.number_at[at].is_some() {
                &self.phrases.number_starts[..]
            } else {
                &[]
            };
            for &sequence in worded.iter().chain(numbered) {
                if !present.allows(sequence) {
                    continue;
                }
                let steps = &self.phrases.sequences[sequence as usize];
                if let Some(found) = walker::walk(self, steps, at..last) {
                    parts.push(Part {
                        sequence,
                        range: at..found.end,
                        used: found.used,
                        numbers: found.numbers,
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

    /// A word as learned tables weigh it: misspelt ones as what they were corrected to, every number
    /// alike; nothing for a mark or a word of a figure of speech.
    #[must_use]
    pub fn weighed(&self, at: usize) -> Option<&str> {
        if self.figurative.contains(&at) {
            return None;
        }
        match &self.tokens[at].what {
            What::Word(word) => Some(
                word.id
                    .map_or(&word.plain, |id| self.phrases.words.word(id)),
            ),
            What::Number(_) => Some("0"),
            What::Mark(_) => None,
        }
    }

    /// The same with marks as they are written.
    #[must_use]
    pub fn sign(&self, at: usize) -> String {
        match self.tokens[at].what {
            What::Mark('\n') => "end".to_owned(),
            What::Mark(mark) => mark.to_string(),
            What::Word(_) | What::Number(_) => self.weighed(at).unwrap_or_default().to_owned(),
        }
    }

    /// The classes of which a member begins at the token.
    pub fn classes(&self, at: usize) -> impl Iterator<Item = &str> {
        let names = |&(class, _): &(ClassIx, usize)| self.phrases.classes.name(class);
        self.classes_at[at].iter().map(names)
    }

    /// Whether a member of the class begins at the token.
    #[must_use]
    pub fn in_class(&self, at: usize, class: &str) -> bool {
        let named = |&(known, _): &(ClassIx, usize)| self.phrases.classes.name(known) == class;
        let found = self.classes_at.get(at);
        found.is_some_and(|found| found.iter().any(named))
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

/// Whether a complaint over the end of a sentence takes words from one told in the sentence before:
/// "It dies. Runs fine on the gas" are two.
fn repeats(told: &[Hit<'_>], hit: &Hit<'_>) -> bool {
    let complaint =
        |hit: &Hit<'_>| matches!(hit.phrase.meaning, Meaning::Symptom { present: true, .. });
    let before = |old: &&Hit<'_>| old.sentence + 1 >= hit.sentence;
    complaint(hit)
        && told.iter().rev().take_while(before).any(|old| {
            complaint(old)
                && old
                    .used
                    .iter()
                    .any(|token| hit.used.binary_search(token).is_ok())
        })
}
