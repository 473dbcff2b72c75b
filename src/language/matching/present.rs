//! What a stretch of a message holds at all: most sequences need a word that is not there.

use super::Text;
use crate::knowledge::phrase::{Needs, SequenceIx};
use std::ops::Range;

/// The lists of words of which one stands in a stretch, and the classes.
pub struct Present<'a> {
    needs: &'a Needs,
    lists: Bits,
    classes: Bits,
}

impl<'a> Present<'a> {
    /// Those of these tokens.
    pub fn of(text: &Text<'a>, tokens: Range<usize>) -> Self {
        let needs = &text.phrases.needs;
        let mut lists = Bits::of(needs.count());
        let mut classes = Bits::of(text.phrases.classes.len());
        for at in tokens {
            if let Some(id) = text.tokens[at].id() {
                for list in needs.with(id) {
                    lists.set(*list as usize);
                }
            }
            for &(class, _) in &text.classes_at[at] {
                classes.set(usize::from(class));
            }
        }
        Self {
            needs,
            lists,
            classes,
        }
    }

    /// Whether nothing is missing that the sequence cannot do without.
    pub fn allows(&self, sequence: SequenceIx) -> bool {
        let (lists, classes) = self.needs.of_sequence(sequence);
        lists.iter().all(|list| self.lists.has(*list as usize))
            && classes
                .iter()
                .all(|class| self.classes.has(usize::from(*class)))
    }
}

/// A set of small whole numbers.
struct Bits(Vec<u64>);

impl Bits {
    fn of(size: usize) -> Self {
        Self(vec![0; size.div_ceil(64)])
    }

    fn set(&mut self, at: usize) {
        self.0[at / 64] |= 1 << (at % 64);
    }

    fn has(&self, at: usize) -> bool {
        self.0[at / 64] >> (at % 64) & 1 == 1
    }
}
