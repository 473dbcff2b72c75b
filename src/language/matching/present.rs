//! What a stretch of a message holds at all: most sequences need a word that is not there.

use super::Text;
use crate::knowledge::phrase::pattern::Step;
use std::ops::Range;

/// Words and classes that stand in a stretch.
pub struct Present {
    words: Bits,
    classes: Bits,
}

impl Present {
    /// Those of these tokens.
    pub fn of(text: &Text<'_>, tokens: Range<usize>) -> Self {
        let mut words = Bits::of(text.phrases.words.len());
        let mut classes = Bits::of(text.phrases.classes.len());
        for at in tokens {
            if let Some(id) = text.tokens[at].id() {
                words.set(id.at());
            }
            for &(class, _) in &text.classes_at[at] {
                classes.set(usize::from(class));
            }
        }
        Self { words, classes }
    }

    /// Whether nothing is missing that the steps cannot do without.
    pub fn allows(&self, steps: &[Step]) -> bool {
        steps.iter().all(|step| match step {
            Step::Words(words) => words.iter().any(|word| self.words.has(word.at())),
            Step::Class(class) => self.classes.has(usize::from(*class)),
            Step::Any(options) => options.iter().any(|option| self.allows(option)),
            Step::Maybe(_) | Step::Number(_) | Step::Gap | Step::Begin | Step::End => true,
        })
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
