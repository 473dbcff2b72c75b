//! The parts found in a stretch of a message, in its order and by what they are.

use crate::knowledge::phrase::SequenceIx;
use std::ops::Range;

/// One part found.
#[derive(Debug, Clone)]
pub struct Part {
    /// What was found.
    pub sequence: SequenceIx,
    /// Its tokens, gaps included.
    pub range: Range<usize>,
    /// Tokens its words stand on.
    pub used: Vec<usize>,
    /// The quantities its `#` stand on.
    pub numbers: Vec<usize>,
}

/// All of a stretch.
#[derive(Debug, Default)]
pub struct Parts {
    all: Vec<Part>,
    /// Positions by sequence, those of one in the order of the text: a sentence that says the same over
    /// and over takes no square of its time.
    by_sequence: Vec<usize>,
}

impl Parts {
    /// Those, in the order of the text.
    pub fn of(all: Vec<Part>) -> Self {
        let mut by_sequence: Vec<usize> = (0..all.len()).collect();
        by_sequence.sort_by_key(|&at| all[at].sequence);
        Self { all, by_sequence }
    }

    /// All, in the order of the text.
    pub fn iter(&self) -> std::slice::Iter<'_, Part> {
        self.all.iter()
    }

    /// Those of one sequence, in the order of the text.
    pub fn of_sequence(&self, sequence: SequenceIx) -> impl Iterator<Item = &Part> {
        let known = |&at: &usize| self.all[at].sequence;
        let start = self.by_sequence.partition_point(|at| known(at) < sequence);
        let parts = self.by_sequence[start..].iter().map(|&at| &self.all[at]);
        parts.take_while(move |part| part.sequence == sequence)
    }
}
