//! Learned patterns of a few words in a row, to which a message is held softly.
//!
//! A table of words adds up what every word speaks for, wherever it stands. What a message says is often
//! said by a handful of words in their order, and the rest of a long story takes nothing from it. So
//! patterns of one to five words are learned too: each word is a vector, a pattern is as many vectors,
//! it answers to a place by how far the words there lie along its own, and counts by the place where it
//! answers most. A convolutional network over words: Y. Kim, "Convolutional Neural Networks for Sentence
//! Classification", EMNLP 2014.
//!
//! The file is made by `floatbowl knowledge train --network`; fields are parted by tabs:
//!
//! ```text
//! # where it comes from
//! shape    100  128  1 2 3 5         numbers of a vector, patterns of each width, widths
//! claims   symptom:no-crank ...
//! unknown  0.0123  7f80...           the vector of words never seen: unit, numbers in that unit
//! word     tank  0.0117  01fe...     a word and its vector; in order of the words
//! pattern  -0.25  0.0031  ...        threshold, unit, its vectors; narrow patterns first
//! claim    -3.1  0.0045  ...         bias, unit, what each pattern speaks for it
//! # Here the table ends.
//! ```

mod table;

use super::classifier::Claim;
use std::ops::Range;
use std::sync::OnceLock;

/// How large a network is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Shape {
    /// The length of a word's vector.
    pub dimension: usize,
    /// How many patterns there are of each width.
    pub filters: usize,
    /// How many words the patterns span.
    pub widths: Vec<usize>,
}

impl Shape {
    /// The number of patterns.
    #[must_use]
    pub fn units(&self) -> usize {
        self.filters * self.widths.len()
    }

    /// The number of vectors in all patterns.
    #[must_use]
    pub fn slots(&self) -> usize {
        self.filters * self.widths.iter().sum::<usize>()
    }

    /// The narrowest patterns first: where the patterns of a width begin, where their vectors do, and
    /// the width.
    fn banks(&self) -> impl Iterator<Item = (usize, usize, usize)> {
        let mut slot = 0;
        self.widths.iter().enumerate().map(move |(nth, width)| {
            let start = slot;
            slot += self.filters * width;
            (nth * self.filters, start, *width)
        })
    }

    /// The vectors of a pattern, in the order of the words it spans.
    pub fn slots_of(&self, unit: usize) -> impl Iterator<Item = usize> {
        let (nth, filter) = (unit / self.filters, unit % self.filters);
        let before: usize = self.widths[..nth].iter().sum();
        (before..before + self.widths[nth]).map(move |row| row * self.filters + filter)
    }

    /// The word that a pattern's vector `offset` meets where the pattern lies at a place: its middle word,
    /// or the one before its middle, lies there.
    #[must_use]
    pub fn met(width: usize, place: usize, offset: usize, words: usize) -> Option<usize> {
        (place + offset)
            .checked_sub((width - 1) / 2)
            .filter(|at| *at < words)
    }
}

/// The numbers of a network.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Weights {
    /// By word, and last for the unknown: `dimension` numbers.
    pub vectors: Vec<f32>,
    /// By slot (width, place in the pattern, pattern): `dimension` numbers.
    pub patterns: Vec<f32>,
    /// By pattern.
    pub thresholds: Vec<f32>,
    /// By pattern: a number for every claim.
    pub outputs: Vec<f32>,
    /// By claim.
    pub bias: Vec<f32>,
}

impl Weights {
    /// The vector of a word.
    #[must_use]
    pub fn vector(&self, shape: &Shape, word: usize) -> &[f32] {
        &self.vectors[word * shape.dimension..][..shape.dimension]
    }

    /// The vectors of the patterns, number by number instead of vector by vector.
    #[must_use]
    pub fn across(&self, shape: &Shape) -> Vec<f32> {
        let slots = shape.slots();
        let mut across = vec![0.0; self.patterns.len()];
        for (slot, vector) in self.patterns.chunks_exact(shape.dimension).enumerate() {
            for (nth, number) in vector.iter().enumerate() {
                across[nth * slots + slot] = *number;
            }
        }
        across
    }

    /// How far each claim is spoken for by patterns that answer like that, as a logit.
    #[must_use]
    pub fn logits(&self, answers: &[f32]) -> Vec<f32> {
        let mut logits = self.bias.clone();
        let rows = self.outputs.chunks_exact(self.bias.len().max(1));
        for (answer, row) in answers
            .iter()
            .zip(rows)
            .filter(|(answer, _)| **answer > 0.0)
        {
            for (logit, weight) in logits.iter_mut().zip(row) {
                *logit += answer * weight;
            }
        }
        logits
    }
}

/// By slot, how far a word's vector lies along that of the pattern; the patterns given by
/// [`Weights::across`].
#[must_use]
pub fn product(shape: &Shape, across: &[f32], vector: &[f32]) -> Box<[f32]> {
    let mut sums = vec![0.0; shape.slots()];
    for (number, row) in vector.iter().zip(across.chunks_exact(shape.slots().max(1))) {
        for (sum, weight) in sums.iter_mut().zip(row) {
            *sum += number * weight;
        }
    }
    sums.into()
}

/// What patterns answer: by pattern how much at its best place, nothing below zero, and that place.
#[derive(Debug, Clone)]
pub struct Answers {
    /// By pattern.
    pub most: Vec<f32>,
    /// By pattern, where it answers at all.
    pub place: Vec<usize>,
}

/// What the patterns answer at some places of a message; `products` are those of its words.
#[must_use]
pub fn answers(
    shape: &Shape,
    thresholds: &[f32],
    products: &[&[f32]],
    places: Range<usize>,
) -> Answers {
    let mut found = Answers {
        most: vec![0.0; shape.units()],
        place: vec![0; shape.units()],
    };
    let mut sums = vec![0.0; shape.filters];
    for place in places {
        for (unit, slot, width) in shape.banks() {
            sums.copy_from_slice(&thresholds[unit..unit + shape.filters]);
            for offset in 0..width {
                let Some(at) = Shape::met(width, place, offset, products.len()) else {
                    continue;
                };
                let row = &products[at][slot + offset * shape.filters..][..shape.filters];
                for (sum, product) in sums.iter_mut().zip(row) {
                    *sum += product;
                }
            }
            for (filter, sum) in sums.iter().enumerate() {
                if *sum > found.most[unit + filter] {
                    found.most[unit + filter] = *sum;
                    found.place[unit + filter] = place;
                }
            }
        }
    }
    found
}

/// A network with its words and claims.
#[derive(Debug, Clone, Default)]
pub struct Network {
    shape: Shape,
    words: Vec<String>,
    claims: Vec<Claim>,
    weights: Weights,
    across: Vec<f32>,
    /// By word, once it was met.
    products: Vec<OnceLock<Box<[f32]>>>,
}

impl Network {
    /// A network of these numbers; the words in order.
    #[must_use]
    pub fn new(shape: Shape, words: Vec<String>, claims: Vec<Claim>, weights: Weights) -> Self {
        Self {
            products: vec![OnceLock::new(); words.len() + 1],
            across: weights.across(&shape),
            shape,
            words,
            claims,
            weights,
        }
    }

    /// The claims, in the order of the logits.
    #[must_use]
    pub fn claims(&self) -> &[Claim] {
        &self.claims
    }

    /// How far each claim is spoken for by each sentence of a message, and last by the whole, as logits;
    /// no claim where nothing was learned.
    #[must_use]
    pub fn logits(&self, sentences: &[Vec<String>]) -> Vec<Vec<f64>> {
        if self.claims.is_empty() {
            return vec![Vec::new(); sentences.len() + 1];
        }
        let words = sentences.iter().flatten();
        let products: Vec<&[f32]> = words.map(|word| self.product(word)).collect();
        let mut whole = vec![0.0_f32; self.shape.units()];
        let mut start = 0;
        let mut logits = Vec::new();
        for sentence in sentences {
            let places = start..start + sentence.len();
            start = places.end;
            let found = answers(&self.shape, &self.weights.thresholds, &products, places);
            for (most, answer) in whole.iter_mut().zip(&found.most) {
                *most = most.max(*answer);
            }
            logits.push(self.of(&found.most));
        }
        logits.push(self.of(&whole));
        logits
    }

    fn of(&self, answers: &[f32]) -> Vec<f64> {
        let logits = self.weights.logits(answers);
        logits.into_iter().map(f64::from).collect()
    }

    fn product(&self, word: &str) -> &[f32] {
        let found = self
            .words
            .binary_search_by(|known| known.as_str().cmp(word));
        let at = found.unwrap_or(self.words.len());
        self.products[at].get_or_init(|| {
            let vector = self.weights.vector(&self.shape, at);
            product(&self.shape, &self.across, vector)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{Network, Shape, Weights};
    use crate::knowledge::classifier::Claim;

    /// One pattern of one word and one of two; vectors of one number: every sum is done by hand.
    fn network() -> Network {
        let shape = Shape {
            dimension: 1,
            filters: 1,
            widths: vec![1, 2],
        };
        let weights = Weights {
            vectors: vec![2.0, -1.0, 0.5],
            patterns: vec![1.0, 3.0, -2.0],
            thresholds: vec![-0.5, 1.0],
            outputs: vec![2.0, 0.25],
            bias: vec![-1.0],
        };
        let words = vec!["hot".into(), "not".into()];
        Network::new(shape, words, vec![Claim::Hazard("fire".into())], weights)
    }

    fn sentences(sentences: &[&[&str]]) -> Vec<Vec<String>> {
        let words = |words: &&[&str]| words.iter().map(ToString::to_string).collect();
        sentences.iter().map(words).collect()
    }

    #[test]
    fn a_pattern_counts_where_it_answers_most() {
        // hot: one word 1*2-0.5 = 1.5; two words 3*2+1 = 7 with nothing after it
        assert_eq!(
            network().logits(&sentences(&[&["hot"]])),
            [[2.0 * 1.5 + 0.25 * 7.0 - 1.0]; 2]
        );
        // hot not: two words 3*2-2*(-1)+1 = 9 at "hot"; "not" alone answers nothing to either
        assert_eq!(
            network().logits(&sentences(&[&["hot", "not"]]))[1],
            [2.0 * 1.5 + 0.25 * 9.0 - 1.0]
        );
        // an unknown word: 0.5-0.5 = 0; 3*0.5+1 = 2.5
        assert_eq!(
            network().logits(&sentences(&[&["hob"]]))[0],
            [0.25 * 2.5 - 1.0]
        );
    }

    #[test]
    fn sentences_are_weighed_apart_and_together() {
        let logits = network().logits(&sentences(&[&["hot"], &["not"]]));
        // the pattern of two words at "hot" still meets "not" beyond the end of its sentence
        assert_eq!(
            logits,
            [
                [2.0 * 1.5 + 0.25 * 9.0 - 1.0],
                [-1.0],
                [2.0 * 1.5 + 0.25 * 9.0 - 1.0]
            ]
        );
    }

    #[test]
    fn slots_lie_width_by_width_then_offset_by_offset() {
        let shape = Shape {
            dimension: 7,
            filters: 4,
            widths: vec![1, 3],
        };
        assert_eq!((shape.units(), shape.slots()), (8, 16));
        assert_eq!(shape.slots_of(2).collect::<Vec<_>>(), [2]);
        assert_eq!(shape.slots_of(5).collect::<Vec<_>>(), [5, 9, 13]);
    }
}
