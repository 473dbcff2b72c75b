//! Moving the numbers of a network that reads along down the slope of what it gets wrong.
//!
//! The slope goes back through the memory word by word: P. Werbos, "Backpropagation Through Time: What It
//! Does and How to Do It", Proceedings of the IEEE 78, 1990.

use super::adam::Adam;
use super::lexicon::Lexicon;
use super::{DOUBT, Lesson, missed, spread};
use crate::knowledge::recurrent::{Memories, Packed, Shape, Way, Weights, most};
use fastrand::Rng;
use ndarray::{Array1, Array2, ArrayView2, Axis, Slice, linalg::general_mat_mul};

/// How much of each number a full step takes away.
const DECAY: f32 = 1e-2;
/// How often a number of a word, or of what features are made of, is passed over while learning.
const DROPPED: f32 = 0.3;
/// What is added to the update gates before anything was learned, so that a memory outlasts a few words: as
/// for forget gates, R. Jozefowicz et al., "An Empirical Exploration of Recurrent Network Architectures",
/// ICML 2015.
const KEEPING: f32 = 1.0;
/// The deviation of the first numbers of words and of senses.
const OWN: f32 = 0.1;
const SHARED: f32 = 0.05;

/// A network that learns. Its vectors: a row for each word, for the unknown, and for each sense.
pub(super) struct Reader {
    weights: Weights,
    slope: Weights,
    adam: Adam,
}

/// Some messages, and what a network makes of them.
struct Seen {
    packed: Packed,
    vectors: Array2<f32>,
    read: [Memories; 2],
    joined: Array2<f32>,
    /// By what is judged together: how far each feature holds, and in which row.
    most: Vec<(Vec<f32>, Vec<usize>)>,
}

/// What is passed over: by number nothing, or what makes up for the others.
struct Masks {
    vectors: Array2<f32>,
    joined: Array2<f32>,
}

impl Reader {
    pub(super) fn new(
        shape: &Shape,
        lexicon: &Lexicon,
        claims: usize,
        steps: usize,
        rng: &mut Rng,
    ) -> Self {
        let dimension = shape.dimension;
        let own = spread(lexicon.own * dimension, OWN, rng);
        let shared = spread((lexicon.all - lexicon.own) * dimension, SHARED, rng);
        let mut weights = Weights {
            vectors: matrix(dimension, [own, shared].concat()),
            ways: [way(shape, rng), way(shape, rng)],
            features: random(shape.joined(), shape.features, shape.joined(), rng),
            feature_bias: Array1::zeros(shape.features),
            outputs: random(shape.features, claims, shape.features, rng),
            bias: Array1::from_elem(claims, DOUBT),
        };
        let mut slope = weights.clone();
        for part in parts(&mut slope) {
            part.fill(0.0);
        }
        Self {
            adam: Adam::new(&parts(&mut weights), DECAY, steps),
            weights,
            slope,
        }
    }

    /// Looks at some messages and moves all numbers once.
    pub(super) fn step(&mut self, lessons: &[Lesson], lexicon: &Lexicon, rng: &mut Rng) {
        let mut lessons: Vec<&Lesson> = lessons.iter().collect();
        lessons.sort_by_key(|lesson| std::cmp::Reverse(lesson.words.len()));
        let lengths: Vec<usize> = lessons.iter().map(|lesson| lesson.words.len()).collect();
        let packed = Packed::of(&lengths);
        let mut places = vec![0; packed.mirrored.len()];
        for (lesson, rows) in lessons.iter().zip(&packed.rows) {
            for (row, place) in rows.iter().zip(lexicon.heard(&lesson.words, rng)) {
                places[*row] = place;
            }
        }
        let rows: Vec<&[usize]> = places.iter().map(|place| &*lexicon.rows[*place]).collect();
        let shape = (places.len(), self.weights.vectors.ncols());
        let joined = (places.len(), self.weights.features.nrows());
        let masks = Masks {
            vectors: mask(shape, rng),
            joined: mask(joined, rng),
        };
        for part in parts(&mut self.slope) {
            part.fill(0.0);
        }
        let judged = lessons.iter().zip(&packed.rows).flat_map(|(lesson, rows)| {
            let judged = lesson.judged();
            judged.map(move |(words, sides)| (rows[words].to_vec(), sides))
        });
        let (judged, sides): (Vec<_>, Vec<_>) = judged.unzip();
        let seen = self.see(&rows, packed, &judged, &masks);
        self.learn(&rows, &seen, &masks, &sides);
        let (mut weights, mut slope) = (parts(&mut self.weights), parts(&mut self.slope));
        self.adam.walk(&mut weights, &mut slope, lessons.len());
    }

    /// The numbers learned; of the vectors those of words and, last, of the unknown, each the sum of its
    /// rows.
    pub(super) fn learned(self, lexicon: &Lexicon) -> Weights {
        let rows: Vec<&[usize]> = lexicon.rows[..lexicon.own]
            .iter()
            .map(|rows| &**rows)
            .collect();
        Weights {
            vectors: self.vectors(&rows),
            ..self.weights
        }
    }

    /// By word: the sum of its rows.
    fn vectors(&self, words: &[&[usize]]) -> Array2<f32> {
        let mut vectors = Array2::zeros((words.len(), self.weights.vectors.ncols()));
        for (mut vector, rows) in vectors.outer_iter_mut().zip(words) {
            for row in *rows {
                vector += &self.weights.vectors.row(*row);
            }
        }
        vectors
    }

    /// Reads messages; `judged` are the rows of what is judged together.
    fn see(
        &self,
        words: &[&[usize]],
        packed: Packed,
        judged: &[Vec<usize>],
        masks: &Masks,
    ) -> Seen {
        let vectors = self.vectors(words) * &masks.vectors;
        let read = self.weights.read(&vectors.view(), &packed);
        let joined = Weights::joined(&read, &vectors.view(), &packed) * &masks.joined;
        let scores = self.weights.scores(&joined);
        Seen {
            most: judged
                .iter()
                .map(|rows| most(&scores, rows.iter().copied()))
                .collect(),
            packed,
            vectors,
            read,
            joined,
        }
    }

    /// Adds the slope of some messages: of the cross-entropy of every claim whose side is known.
    fn learn(&mut self, words: &[&[usize]], seen: &Seen, masks: &Masks, sides: &[&[Option<bool>]]) {
        let mut back = self.features(seen, sides);
        back *= &masks.joined;
        let size = self.weights.ways[0].memory.nrows();
        let (memories, of_words) = back.view().split_at(Axis(1), 2 * size);
        let (forward, backward) = memories.split_at(Axis(1), size);
        let backward = backward.select(Axis(0), &seen.packed.mirrored);
        let mirrored = seen.vectors.select(Axis(0), &seen.packed.mirrored);
        let counts = &seen.packed.counts;
        let mut way = |nth: usize, vectors: &Array2<f32>, back: &ArrayView2<f32>| {
            let (weights, slope) = (&self.weights.ways[nth], &mut self.slope.ways[nth]);
            remember(weights, slope, vectors, &seen.read[nth], counts, back)
        };
        let mut vectors = way(0, &seen.vectors, &forward);
        vectors += &way(1, &mirrored, &backward.view()).select(Axis(0), &seen.packed.mirrored);
        vectors += &of_words;
        vectors *= &masks.vectors;
        for (slope, rows) in vectors.outer_iter().zip(words) {
            for row in *rows {
                let mut of_row = self.slope.vectors.row_mut(*row);
                of_row += &slope;
            }
        }
    }

    /// Adds the slope of what features speak for and of what makes them; gives that of what they are made
    /// of.
    fn features(&mut self, seen: &Seen, sides: &[&[Option<bool>]]) -> Array2<f32> {
        let mut back = Array2::zeros(seen.joined.dim());
        let by_feature = self.weights.features.t().as_standard_layout().into_owned();
        let mut slope = Array2::<f32>::zeros(by_feature.dim());
        for ((most, place), sides) in seen.most.iter().zip(sides) {
            let missed = Array1::from(missed(&self.weights.logits(most), sides));
            self.slope.bias += &missed;
            let holds = most.iter().zip(place).enumerate();
            for (feature, (most, row)) in holds.filter(|(_, (most, _))| **most > 0.0) {
                let mut outputs = self.slope.outputs.row_mut(feature);
                outputs.scaled_add(*most, &missed);
                let told = self.weights.outputs.row(feature).dot(&missed);
                self.slope.feature_bias[feature] += told;
                slope
                    .row_mut(feature)
                    .scaled_add(told, &seen.joined.row(*row));
                back.row_mut(*row)
                    .scaled_add(told, &by_feature.row(feature));
            }
        }
        self.slope.features += &slope.t();
        back
    }
}

/// Adds the slope of one way of reading, given that over the memories after each word; gives that over the
/// words' vectors.
fn remember(
    weights: &Way,
    slope: &mut Way,
    vectors: &Array2<f32>,
    read: &Memories,
    counts: &[usize],
    back: &ArrayView2<f32>,
) -> Array2<f32> {
    let size = weights.memory.nrows();
    // over the sums that the word, and that the memory, make for the gates and the fresh numbers
    let mut by_word = Array2::<f32>::zeros(read.gates.dim());
    let mut by_memory = Array2::<f32>::zeros(read.gates.dim());
    let mut later = Array2::<f32>::zeros((counts.first().copied().unwrap_or(0), size));
    let across = weights.memory.t().as_standard_layout().into_owned();
    let mut end = vectors.nrows();
    for &count in counts.iter().rev() {
        let start = end - count;
        for row in start..end {
            let (gates, before) = (read.gates.row(row), read.before.row(row));
            let mut later = later.row_mut(row - start);
            for nth in 0..size {
                let (reset, update) = (gates[nth], gates[size + nth]);
                let fresh = gates[2 * size + nth];
                let told = back[(row, nth)] + later[nth];
                let of_fresh = told * (1.0 - update) * (1.0 - fresh * fresh);
                let of_update = told * (before[nth] - fresh) * update * (1.0 - update);
                let of_reset = of_fresh * read.recalled[(row, nth)] * reset * (1.0 - reset);
                for by in [&mut by_word, &mut by_memory] {
                    (by[(row, nth)], by[(row, size + nth)]) = (of_reset, of_update);
                }
                by_word[(row, 2 * size + nth)] = of_fresh;
                by_memory[(row, 2 * size + nth)] = of_fresh * reset;
                later[nth] = told * update;
            }
        }
        let by_memory = by_memory.slice_axis(Axis(0), Slice::from(start..end));
        let mut later = later.slice_axis_mut(Axis(0), Slice::from(..count));
        general_mat_mul(1.0, &by_memory, &across, 1.0, &mut later);
        end = start;
    }
    slope.bias += &by_word.sum_axis(Axis(0));
    general_mat_mul(1.0, &vectors.t(), &by_word, 1.0, &mut slope.inputs);
    general_mat_mul(1.0, &read.before.t(), &by_memory, 1.0, &mut slope.memory);
    by_word.dot(&weights.inputs.t())
}

fn way(shape: &Shape, rng: &mut Rng) -> Way {
    let (size, gates) = (shape.memory, 3 * shape.memory);
    let mut bias = Array1::zeros(gates);
    bias.slice_axis_mut(Axis(0), Slice::from(size..2 * size))
        .fill(KEEPING);
    Way {
        inputs: random(shape.dimension, gates, size, rng),
        memory: random(size, gates, size, rng),
        bias,
    }
}

/// Numbers of which so many are added up.
#[expect(clippy::cast_precision_loss, reason = "counts far below 2^24")]
fn random(rows: usize, columns: usize, added: usize, rng: &mut Rng) -> Array2<f32> {
    let deviation = (1.0 / (3.0 * added as f32)).sqrt();
    matrix(columns, spread(rows * columns, deviation, rng))
}

fn matrix(columns: usize, numbers: Vec<f32>) -> Array2<f32> {
    Array2::from_shape_vec((numbers.len() / columns, columns), numbers).expect("full rows")
}

fn mask(shape: (usize, usize), rng: &mut Rng) -> Array2<f32> {
    let kept = || {
        if rng.f32() < DROPPED {
            0.0
        } else {
            1.0 / (1.0 - DROPPED)
        }
    };
    Array2::from_shape_simple_fn(shape, kept)
}

/// The numbers of a network, kind by kind.
fn parts(weights: &mut Weights) -> Vec<&mut [f32]> {
    let [forward, backward] = &mut weights.ways;
    let matrices = [
        &mut weights.vectors,
        &mut forward.inputs,
        &mut forward.memory,
        &mut backward.inputs,
        &mut backward.memory,
        &mut weights.features,
        &mut weights.outputs,
    ];
    let rows = [
        &mut forward.bias,
        &mut backward.bias,
        &mut weights.feature_bias,
        &mut weights.bias,
    ];
    let matrices = matrices.into_iter().map(|matrix| matrix.as_slice_mut());
    let rows = rows.into_iter().map(|row| row.as_slice_mut());
    let parts = matrices.chain(rows);
    parts.map(|part| part.expect("row by row")).collect()
}

#[cfg(test)]
mod tests {
    use super::super::cross_entropy;
    use super::super::lexicon::of_two_words;
    use super::super::slope::agrees;
    use super::{Lexicon, Masks, Packed, Reader, Shape, mask, parts};
    use fastrand::Rng;

    /// Two messages: of a word of two senses, one heard by its sense alone and an unknown one; of two words.
    const WORDS: [&[usize]; 2] = [&[0, 4, 2], &[1, 0]];
    const SIDES: [&[Option<bool>]; 3] = [
        &[Some(true), None, Some(false)],
        &[Some(false), Some(true), None],
        &[None, Some(false), Some(true)],
    ];

    fn reader() -> Reader {
        let shape = Shape {
            dimension: 3,
            memory: 4,
            features: 5,
        };
        let mut rng = Rng::with_seed(4);
        let mut reader = Reader::new(&shape, &of_two_words(), 3, 10, &mut rng);
        // enough for most gates to lie between open and shut, and for most features to hold
        reader.weights.vectors *= 8.0;
        reader.weights.feature_bias.fill(0.8);
        reader.weights.bias.fill(0.0);
        reader
    }

    /// The rows of every word, packed.
    fn words(lexicon: &Lexicon, packed: &Packed) -> Vec<Vec<usize>> {
        let mut words = vec![Vec::new(); packed.mirrored.len()];
        for (places, rows) in WORDS.iter().zip(&packed.rows) {
            for (place, row) in places.iter().zip(rows) {
                words[*row].clone_from(&lexicon.rows[*place]);
            }
        }
        words
    }

    /// The slope of every number against the difference of two losses (central difference). Judged are a
    /// message, and two parts of the other.
    #[test]
    fn the_slope_is_that_of_the_loss() {
        let (mut reader, lexicon) = (reader(), of_two_words());
        let packed = Packed::of(&[3, 2]);
        let words = words(&lexicon, &packed);
        let words: Vec<&[usize]> = words.iter().map(|rows| &**rows).collect();
        let judged = [
            packed.rows[1].clone(),
            packed.rows[0][..1].to_vec(),
            packed.rows[0][1..].to_vec(),
        ];
        let mut rng = Rng::with_seed(5);
        let masks = Masks {
            vectors: mask((5, 3), &mut rng),
            joined: mask((5, 11), &mut rng),
        };
        let loss = |reader: &Reader| -> f32 {
            let seen = reader.see(&words, packed.clone(), &judged, &masks);
            let of_message = |((most, _), sides): (&(Vec<f32>, _), &&[Option<bool>])| -> f32 {
                cross_entropy(&reader.weights.logits(most), sides)
            };
            seen.most.iter().zip(&SIDES).map(of_message).sum()
        };
        let seen = reader.see(&words, packed.clone(), &judged, &masks);
        reader.learn(&words, &seen, &masks, &SIDES);
        let slope: Vec<Vec<f32>> = parts(&mut reader.slope)
            .iter()
            .map(|part| part.to_vec())
            .collect();
        agrees(&slope, 60, |(kind, at), by| {
            parts(&mut reader.weights)[kind][at] += by;
            let loss = loss(&reader);
            parts(&mut reader.weights)[kind][at] -= by;
            loss
        });
    }
}
