//! A learned reader that goes along a message word by word, with a memory.
//!
//! A pattern of a few words ([`super::network`]) knows nothing of what stands further off: who did it, and
//! whether it is over. So a message is also read from its first word to its last and from its last to its
//! first; what was read so far is kept in a few numbers, and every word changes them. At each word the two
//! memories and the word together make features, and each feature counts by the word where it is most.
//!
//! The memory is a gated recurrent unit: K. Cho et al., "Learning Phrase Representations using RNN
//! Encoder-Decoder for Statistical Machine Translation", EMNLP 2014, with the reset gate behind the
//! product; read both ways: M. Schuster and K. Paliwal, IEEE Transactions on Signal Processing 45, 1997;
//! the most of all words: S. Lai et al., "Recurrent Convolutional Neural Networks for Text Classification",
//! AAAI 2015.
//!
//! The file is made by `floatbowl knowledge train --recurrent`; fields are parted by tabs:
//!
//! ```text
//! # where it comes from
//! shape     100  96  256            numbers of a vector, of a memory, of features
//! claims    symptom:no-crank ...
//! unknown   0.0123  7f80...         the vector of words never seen: unit, numbers in that unit
//! word      tank  0.0117  01fe...   a word and its vector; in order of the words
//! forward   -0.2  0.0031  ...       bias, unit, what the word and then the memory count for: for the reset
//! backward  0.1  0.0029  ...        gate of each number of the memory, the update gates, the fresh numbers
//! feature   0.3  0.0022  ...        bias, unit, what both memories and the word count for
//! claim     -3.1  0.0045  ...       bias, unit, what each feature speaks for it
//! # Here the table ends.
//! ```

mod table;

use super::classifier::Claim;
use ndarray::{Array1, Array2, ArrayView2, ArrayViewMut1, Axis, Slice, concatenate};

/// How large a network is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Shape {
    /// The length of a word's vector.
    pub dimension: usize,
    /// How many numbers are kept in mind.
    pub memory: usize,
    /// How many features there are.
    pub features: usize,
}

impl Shape {
    /// How many numbers make the features: both memories and the word.
    #[must_use]
    pub fn joined(&self) -> usize {
        2 * self.memory + self.dimension
    }
}

/// The numbers of a network.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Weights {
    /// By word, and last for the unknown: its vector.
    pub vectors: Array2<f32>,
    /// Of reading forwards and backwards.
    pub ways: [Way; 2],
    /// By number of both memories and the word: what it counts for in every feature.
    pub features: Array2<f32>,
    /// By feature.
    pub feature_bias: Array1<f32>,
    /// By feature: what it speaks for every claim.
    pub outputs: Array2<f32>,
    /// By claim.
    pub bias: Array1<f32>,
}

/// The numbers of one way of reading. Each row counts for the reset gates, the update gates, and the fresh
/// numbers of the memory.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Way {
    /// By number of a word's vector.
    pub inputs: Array2<f32>,
    /// By number of the memory.
    pub memory: Array2<f32>,
    /// What is added to all.
    pub bias: Array1<f32>,
}

/// The words of some messages, the longest first: all first words, then all second words, and so on.
#[derive(Debug, Clone)]
pub struct Packed {
    /// How many messages have a first word, a second word ...
    pub counts: Vec<usize>,
    /// By row: the row of the same message that is as far from its end as this one from its beginning.
    pub mirrored: Vec<usize>,
    /// By message: its rows.
    pub rows: Vec<Vec<usize>>,
}

impl Packed {
    /// Messages of so many words each, none shorter than the next.
    #[must_use]
    pub fn of(lengths: &[usize]) -> Self {
        let longest = lengths.first().copied().unwrap_or(0);
        let mut rows = vec![Vec::new(); lengths.len()];
        let mut counts = Vec::new();
        let mut row = 0;
        for nth in 0..longest {
            let count = lengths.partition_point(|length| *length > nth);
            for rows in &mut rows[..count] {
                rows.push(row);
                row += 1;
            }
            counts.push(count);
        }
        let mut mirrored = vec![0; row];
        for rows in &rows {
            for (from, to) in rows.iter().zip(rows.iter().rev()) {
                mirrored[*from] = *to;
            }
        }
        Self {
            counts,
            mirrored,
            rows,
        }
    }
}

/// What was in mind while messages were read one way, by row of a [`Packed`].
#[derive(Debug, Clone)]
pub struct Memories {
    /// The reset gates, the update gates, the fresh numbers.
    pub gates: Array2<f32>,
    /// What the memory before counted for in the fresh numbers, before the reset.
    pub recalled: Array2<f32>,
    /// The memory before the word.
    pub before: Array2<f32>,
    /// The memory after it.
    pub after: Array2<f32>,
}

impl Way {
    /// Reads messages whose words have those vectors, by row.
    ///
    /// # Panics
    /// Where the numbers of a way do not lie row by row, as they do in all that is read or made here.
    #[must_use]
    pub fn read(&self, vectors: &ArrayView2<f32>, counts: &[usize]) -> Memories {
        let size = self.memory.nrows();
        let shape = (vectors.nrows(), size);
        let mut read = Memories {
            gates: vectors.dot(&self.inputs) + &self.bias,
            recalled: Array2::zeros(shape),
            before: Array2::zeros(shape),
            after: Array2::zeros(shape),
        };
        let mut memory = Array2::zeros((counts.first().copied().unwrap_or(0), size));
        let mut start = 0;
        for &count in counts {
            let (place, now) = (Slice::from(start..start + count), Slice::from(..count));
            let now = memory.slice_axis(Axis(0), now);
            read.before.slice_axis_mut(Axis(0), place).assign(&now);
            let mut sums = product(&now, &self.memory);
            for nth in 0..count {
                let row = start + nth;
                step(
                    numbers(read.gates.row_mut(row)),
                    numbers(sums.row_mut(nth)),
                    numbers(memory.row_mut(nth)),
                    numbers(read.recalled.row_mut(row)),
                );
                read.after.row_mut(row).assign(&memory.row(nth));
            }
            start += count;
        }
        read
    }
}

/// The memory after a word, from that before it, and what made it so: the sums that the word, and that the
/// memory, make for the gates and the fresh numbers become both gates and the fresh numbers.
fn step(gates: &mut [f32], sums: &[f32], memory: &mut [f32], recalled: &mut [f32]) {
    let size = memory.len();
    for nth in 0..size {
        let reset = sigmoid(gates[nth] + sums[nth]);
        let update = sigmoid(gates[size + nth] + sums[size + nth]);
        let fresh = tanh(gates[2 * size + nth] + reset * sums[2 * size + nth]);
        recalled[nth] = sums[2 * size + nth];
        (gates[nth], gates[size + nth], gates[2 * size + nth]) = (reset, update, fresh);
        memory[nth] = fresh + update * (memory[nth] - fresh);
    }
}

impl Weights {
    /// Reads messages both ways.
    #[must_use]
    pub fn read(&self, vectors: &ArrayView2<f32>, packed: &Packed) -> [Memories; 2] {
        let mirrored = vectors.select(Axis(0), &packed.mirrored);
        [
            self.ways[0].read(vectors, &packed.counts),
            self.ways[1].read(&mirrored.view(), &packed.counts),
        ]
    }

    /// By row: what features are made of, both memories after its word and the word.
    ///
    /// # Panics
    /// Never: all have a row for each word.
    #[must_use]
    pub fn joined(read: &[Memories; 2], vectors: &ArrayView2<f32>, packed: &Packed) -> Array2<f32> {
        let backward = read[1].after.select(Axis(0), &packed.mirrored);
        let parts = [read[0].after.view(), backward.view(), vectors.view()];
        concatenate(Axis(1), &parts).expect("as many rows in each")
    }

    /// By row: how far each feature holds.
    #[must_use]
    pub fn scores(&self, joined: &Array2<f32>) -> Array2<f32> {
        joined.dot(&self.features) + &self.feature_bias
    }

    /// How far each claim is spoken for where features hold like that, as a logit.
    #[must_use]
    pub fn logits(&self, most: &[f32]) -> Vec<f32> {
        let mut logits = self.bias.to_vec();
        let rows = self.outputs.outer_iter().zip(most);
        for (row, most) in rows.filter(|(_, most)| **most > 0.0) {
            for (logit, weight) in logits.iter_mut().zip(row) {
                *logit += most * weight;
            }
        }
        logits
    }
}

/// By feature how far it holds in the row where it does most, nothing below zero, and that row.
#[must_use]
pub fn most(scores: &Array2<f32>, rows: impl IntoIterator<Item = usize>) -> (Vec<f32>, Vec<usize>) {
    let mut most = vec![0.0; scores.ncols()];
    let mut place = vec![0; scores.ncols()];
    for row in rows {
        for (nth, score) in scores.row(row).into_iter().enumerate() {
            if *score > most[nth] {
                (most[nth], place[nth]) = (*score, row);
            }
        }
    }
    (most, place)
}

/// The product of matrices; of a single row without the detour through blocks.
fn product(rows: &ArrayView2<f32>, weights: &Array2<f32>) -> Array2<f32> {
    if rows.nrows() != 1 {
        return rows.dot(weights);
    }
    let mut sums = Array2::zeros((1, weights.ncols()));
    for (number, weights) in rows.iter().zip(weights.outer_iter()) {
        sums.row_mut(0).scaled_add(*number, &weights);
    }
    sums
}

fn numbers(row: ArrayViewMut1<'_, f32>) -> &mut [f32] {
    row.into_slice().expect("matrices lie row by row")
}

/// The hyperbolic tangent by one exponential, in half the time of the library's, which is exact for small
/// numbers too.
fn tanh(number: f32) -> f32 {
    1.0 - 2.0 / (1.0 + (2.0 * number).exp())
}

fn sigmoid(logit: f32) -> f32 {
    1.0 / (1.0 + (-logit).exp())
}

/// A network with its words and claims.
#[derive(Debug, Clone, Default)]
pub struct Recurrent {
    words: Vec<String>,
    claims: Vec<Claim>,
    weights: Weights,
}

impl Recurrent {
    /// A network of these numbers; the words in order.
    #[must_use]
    pub fn new(words: Vec<String>, claims: Vec<Claim>, weights: Weights) -> Self {
        Self {
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
        let words: Vec<usize> = sentences
            .iter()
            .flatten()
            .map(|word| self.place(word))
            .collect();
        let vectors = self.weights.vectors.select(Axis(0), &words);
        let packed = Packed::of(&[words.len()]);
        let read = self.weights.read(&vectors.view(), &packed);
        let joined = Weights::joined(&read, &vectors.view(), &packed);
        let scores = self.weights.scores(&joined);
        let mut start = 0;
        let mut logits = Vec::new();
        for sentence in sentences {
            let rows = start..start + sentence.len();
            start = rows.end;
            logits.push(self.of(&scores, rows));
        }
        logits.push(self.of(&scores, 0..start));
        logits
    }

    fn of(&self, scores: &Array2<f32>, rows: std::ops::Range<usize>) -> Vec<f64> {
        let logits = self.weights.logits(&most(scores, rows).0);
        logits.into_iter().map(f64::from).collect()
    }

    fn place(&self, word: &str) -> usize {
        let found = self
            .words
            .binary_search_by(|known| known.as_str().cmp(word));
        found.unwrap_or(self.words.len())
    }
}

#[cfg(test)]
mod tests {
    use super::{Packed, Recurrent, Way, Weights};
    use crate::knowledge::classifier::Claim;
    use ndarray::{arr1, arr2};

    /// One number in mind, vectors of one number, one feature: the forward memory and nothing else.
    fn network() -> Recurrent {
        let way = |fresh| Way {
            inputs: arr2(&[[1.0, 2.0, fresh]]),
            memory: arr2(&[[0.5, -1.0, 0.25]]),
            bias: arr1(&[0.0, 0.5, 0.1]),
        };
        let weights = Weights {
            vectors: arr2(&[[1.0], [-2.0], [0.0]]),
            ways: [way(1.0), way(-1.0)],
            features: arr2(&[[1.0], [0.5], [0.0]]),
            feature_bias: arr1(&[1.0]),
            outputs: arr2(&[[2.0]]),
            bias: arr1(&[-1.0]),
        };
        let words = vec!["hot".into(), "not".into()];
        Recurrent::new(words, vec![Claim::Hazard("fire".into())], weights)
    }

    fn sigmoid(x: f64) -> f64 {
        1.0 / (1.0 + (-x).exp())
    }

    /// The same step written down once more, in the numbers of [`network`].
    fn step(word: f64, memory: f64, fresh: f64) -> f64 {
        let reset = sigmoid(word + 0.5 * memory);
        let update = sigmoid(2.0 * word - memory + 0.5);
        let fresh = (fresh * word + 0.1 + reset * 0.25 * memory).tanh();
        (1.0 - update) * fresh + update * memory
    }

    #[test]
    fn a_message_is_read_from_both_ends() {
        let sentences = [
            vec!["hot".to_owned()],
            vec!["not".to_owned(), "hob".to_owned()],
        ];
        let found = network().logits(&sentences);
        let (hot, not, hob) = (1.0, -2.0, 0.0);
        let forward = [
            step(hot, 0.0, 1.0),
            step(not, step(hot, 0.0, 1.0), 1.0),
            step(hob, step(not, step(hot, 0.0, 1.0), 1.0), 1.0),
        ];
        let last = step(hob, 0.0, -1.0);
        let backward = [
            step(hot, step(not, last, -1.0), -1.0),
            step(not, last, -1.0),
            last,
        ];
        let score = |nth: usize| forward[nth] + 0.5 * backward[nth] + 1.0;
        let logit = |most: f64| 2.0 * most.max(0.0) - 1.0;
        let expected = [
            logit(score(0)),
            logit(score(1).max(score(2))),
            logit(score(0).max(score(1)).max(score(2))),
        ];
        for (found, expected) in found.iter().zip(expected) {
            assert!(
                (found[0] - expected).abs() < 1e-5,
                "{found:?} for {expected}"
            );
        }
    }

    #[test]
    fn an_empty_message_and_an_empty_network_say_nothing() {
        assert_eq!(network().logits(&[]), [[-1.0]]);
        let none: [Vec<f64>; 1] = [vec![]];
        assert_eq!(Recurrent::default().logits(&[]), none);
    }

    #[test]
    fn messages_of_any_length_are_packed_place_by_place() {
        let packed = Packed::of(&[3, 2, 2]);
        assert_eq!(packed.counts, [3, 3, 1]);
        assert_eq!(packed.rows, [vec![0, 3, 6], vec![1, 4], vec![2, 5]]);
        assert_eq!(packed.mirrored, [6, 4, 5, 3, 1, 2, 0]);
    }

    /// Messages read together are read as each alone.
    #[test]
    fn company_changes_nothing() {
        let weights = network().weights;
        let both = arr2(&[[1.0], [0.0], [-2.0], [1.0], [0.0]]);
        let packed = Packed::of(&[3, 2]);
        let together = weights.read(&both.view(), &packed);
        let apart = [arr2(&[[1.0], [-2.0], [0.0]]), arr2(&[[0.0], [1.0]])];
        for (rows, vectors) in packed.rows.iter().zip(&apart) {
            let alone = weights.read(&vectors.view(), &Packed::of(&[vectors.nrows()]));
            for (together, alone) in together.iter().zip(&alone) {
                for (nth, row) in rows.iter().enumerate() {
                    let difference = together.after[(*row, 0)] - alone.after[(nth, 0)];
                    assert!(difference.abs() < 1e-6);
                }
            }
        }
    }
}
