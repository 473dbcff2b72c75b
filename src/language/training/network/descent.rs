//! Moving the numbers of a network down the slope of what it gets wrong.

use super::adam::Adam;
use super::lexicon::Lexicon;
use super::{DOUBT, Lesson, missed, spread};
use crate::knowledge::network::{Answers, Shape, Weights, answers, product};
use fastrand::Rng;
use std::collections::BTreeMap;

/// How much of each number a full step takes away.
const DECAY: f32 = 1e-4;
/// How often a pattern is passed over while learning.
const DROPPED: f32 = 0.5;
/// The deviation of the first numbers of words and of senses.
const OWN: f32 = 0.1;
const SHARED: f32 = 0.05;
pub(super) struct Descent {
    shape: Shape,
    /// Its vectors: a row for each word, for the unknown, and for each sense.
    weights: Weights,
    slope: Weights,
    adam: Adam,
}

/// A word that was heard.
struct Heard<'a> {
    /// What its vector is the sum of.
    rows: &'a [usize],
    vector: Vec<f32>,
    /// What the patterns make of it.
    product: Box<[f32]>,
}

impl Descent {
    #[expect(clippy::cast_precision_loss, reason = "counts far below 2^24")]
    pub(super) fn new(
        shape: &Shape,
        lexicon: &Lexicon,
        claims: usize,
        steps: usize,
        rng: &mut Rng,
    ) -> Self {
        let (dimension, units) = (shape.dimension, shape.units());
        let own = spread(lexicon.own * dimension, OWN, rng);
        let shared = spread((lexicon.all - lexicon.own) * dimension, SHARED, rng);
        let mut weights = Weights {
            vectors: [own, shared].concat(),
            patterns: Vec::new(),
            thresholds: vec![0.0; units],
            outputs: spread(units * claims, (1.0 / units as f32).sqrt(), rng),
            bias: vec![DOUBT; claims],
        };
        for width in &shape.widths {
            let inputs = (width * dimension) as f32;
            let numbers = width * shape.filters * dimension;
            weights
                .patterns
                .extend(spread(numbers, (2.0 / inputs).sqrt(), rng));
        }
        let zero = zeroed(&weights);
        Self {
            shape: shape.clone(),
            adam: Adam::new(&parts(&mut weights), DECAY, steps),
            slope: zero,
            weights,
        }
    }

    /// Looks at some messages and moves all numbers once.
    pub(super) fn step(&mut self, lessons: &[Lesson], lexicon: &Lexicon, rng: &mut Rng) {
        let heard: Vec<Vec<usize>> = lessons
            .iter()
            .map(|lesson| lexicon.heard(&lesson.words, rng))
            .collect();
        let known = self.heard(&heard, lexicon);
        for part in parts(&mut self.slope) {
            part.fill(0.0);
        }
        for (lesson, places) in lessons.iter().zip(&heard) {
            let words: Vec<&Heard> = places.iter().map(|place| &known[place]).collect();
            let mut found = self.answers(&words);
            for most in &mut found.most {
                let kept = rng.f32() >= DROPPED;
                *most = if kept { *most / (1.0 - DROPPED) } else { 0.0 };
            }
            self.learn(&words, &lesson.sides, &found);
        }
        let (mut weights, mut slope) = (parts(&mut self.weights), parts(&mut self.slope));
        self.adam.walk(&mut weights, &mut slope, lessons.len());
    }

    /// The numbers learned; of the vectors those of words and, last, of the unknown, each the sum of its
    /// rows.
    pub(super) fn learned(self, lexicon: &Lexicon) -> Weights {
        let places = &lexicon.rows[..lexicon.own];
        let vectors = places.iter().flat_map(|rows| self.vector(rows)).collect();
        Weights {
            vectors,
            ..self.weights
        }
    }

    /// The sum of some rows.
    fn vector(&self, rows: &[usize]) -> Vec<f32> {
        let mut sum = vec![0.0; self.shape.dimension];
        for row in rows {
            add(&mut sum, 1.0, self.weights.vector(&self.shape, *row));
        }
        sum
    }

    /// The words that were heard, by place.
    fn heard<'a>(&self, places: &[Vec<usize>], lexicon: &'a Lexicon) -> BTreeMap<usize, Heard<'a>> {
        let across = self.weights.across(&self.shape);
        let mut heard = BTreeMap::new();
        for place in places.iter().flatten() {
            heard.entry(*place).or_insert_with(|| {
                let rows = &lexicon.rows[*place];
                let vector = self.vector(rows);
                Heard {
                    product: product(&self.shape, &across, &vector),
                    rows,
                    vector,
                }
            });
        }
        heard
    }

    fn answers(&self, words: &[&Heard]) -> Answers {
        let products: Vec<&[f32]> = words.iter().map(|word| &*word.product).collect();
        let thresholds = &self.weights.thresholds;
        answers(&self.shape, thresholds, &products, 0..words.len())
    }

    /// Adds the slope of one message: of the cross-entropy of every claim whose side is known.
    fn learn(&mut self, words: &[&Heard], sides: &[Option<bool>], found: &Answers) {
        let logits = self.weights.logits(&found.most);
        let missed = missed(&logits, sides);
        add(&mut self.slope.bias, 1.0, &missed);
        let claims = missed.len();
        for (unit, most) in found
            .most
            .iter()
            .enumerate()
            .filter(|(_, most)| **most > 0.0)
        {
            let row = unit * claims..(unit + 1) * claims;
            add(&mut self.slope.outputs[row.clone()], *most, &missed);
            let weights = &self.weights.outputs[row];
            let back: f32 = weights.iter().zip(&missed).map(|(x, y)| x * y).sum();
            self.answer(unit, found.place[unit], words, back / (1.0 - DROPPED));
        }
    }

    /// Adds what a pattern's answer at a place does to its vectors and to those of the words there.
    fn answer(&mut self, unit: usize, place: usize, words: &[&Heard], back: f32) {
        self.slope.thresholds[unit] += back;
        let dimension = self.shape.dimension;
        let width = self.shape.widths[unit / self.shape.filters];
        for (offset, slot) in self.shape.slots_of(unit).enumerate() {
            let Some(at) = Shape::met(width, place, offset, words.len()) else {
                continue;
            };
            let slot = slot * dimension..(slot + 1) * dimension;
            let Heard { vector, rows, .. } = words[at];
            add(&mut self.slope.patterns[slot.clone()], back, vector);
            for row in *rows {
                let row = row * dimension..(row + 1) * dimension;
                let pattern = &self.weights.patterns[slot.clone()];
                add(&mut self.slope.vectors[row], back, pattern);
            }
        }
    }
}

/// The numbers of a network, kind by kind.
fn parts(weights: &mut Weights) -> [&mut [f32]; 5] {
    [
        &mut weights.vectors,
        &mut weights.patterns,
        &mut weights.thresholds,
        &mut weights.outputs,
        &mut weights.bias,
    ]
}

fn zeroed(weights: &Weights) -> Weights {
    let mut zero = weights.clone();
    for part in parts(&mut zero) {
        part.fill(0.0);
    }
    zero
}

/// Adds `factor` times some numbers to others.
fn add(sums: &mut [f32], factor: f32, numbers: &[f32]) {
    for (sum, number) in sums.iter_mut().zip(numbers) {
        *sum += factor * number;
    }
}

#[cfg(test)]
mod tests {
    use super::super::cross_entropy;
    use super::super::lexicon::of_two_words;
    use super::super::slope::agrees;
    use super::{Descent, Heard, parts};
    use crate::knowledge::network::{Answers, Shape};
    use fastrand::Rng;

    /// A word of two senses, one heard by its sense alone, and an unknown one.
    const WORDS: [usize; 3] = [0, 4, 2];
    const SIDES: [Option<bool>; 3] = [Some(true), None, Some(false)];

    fn descent() -> Descent {
        let shape = Shape {
            dimension: 3,
            filters: 4,
            widths: vec![1, 2, 3],
        };
        let mut descent = Descent::new(&shape, &of_two_words(), 3, 10, &mut Rng::with_seed(7));
        // enough for most patterns to answer
        descent.weights.thresholds.fill(0.3);
        descent
    }

    fn found(descent: &Descent) -> Answers {
        let lexicon = of_two_words();
        let heard = descent.heard(&[WORDS.to_vec()], &lexicon);
        let words: Vec<&Heard> = WORDS.iter().map(|place| &heard[place]).collect();
        descent.answers(&words)
    }

    /// The cross-entropy of what is known, where `answers` are doubled as if half had been dropped.
    fn loss(descent: &Descent) -> f32 {
        let doubled: Vec<f32> = found(descent).most.iter().map(|most| 2.0 * most).collect();
        let logits = descent.weights.logits(&doubled);
        cross_entropy(&logits, &SIDES)
    }

    /// The slope of every number against the difference of two losses (central difference).
    #[test]
    fn the_slope_is_that_of_the_loss() {
        let mut descent = descent();
        let mut found = found(&descent);
        for most in &mut found.most {
            *most *= 2.0;
        }
        let lexicon = of_two_words();
        let heard = descent.heard(&[WORDS.to_vec()], &lexicon);
        let words: Vec<&Heard> = WORDS.iter().map(|place| &heard[place]).collect();
        descent.learn(&words, &SIDES, &found);
        let slope = parts(&mut descent.slope).map(|part| part.to_vec());
        agrees(&slope, 50, |(kind, at), by| {
            parts(&mut descent.weights)[kind][at] += by;
            let loss = loss(&descent);
            parts(&mut descent.weights)[kind][at] -= by;
            loss
        });
    }
}
