//! How many tokens of some sort stand within a stretch, for who asks of the same ones over and over.

use std::ops::Range;

/// The tokens of a message counted from its start, so that a long sentence takes no square of its time.
#[derive(Debug)]
pub struct Tally {
    /// By token: how many stand before it.
    before: Vec<usize>,
}

impl Tally {
    /// Counts which of the first `tokens` are of the sort.
    pub fn of(tokens: usize, is: impl Fn(usize) -> bool) -> Self {
        let up_to = (0..tokens).scan(0, |count, at| {
            *count += usize::from(is(at));
            Some(*count)
        });
        Self {
            before: std::iter::once(0).chain(up_to).collect(),
        }
    }

    /// How many stand within these tokens; none in a stretch that ends before it starts.
    pub fn within(&self, tokens: &Range<usize>) -> usize {
        self.before[tokens.end.max(tokens.start)] - self.before[tokens.start]
    }
}

#[cfg(test)]
mod tests {
    use super::Tally;

    #[test]
    fn counts_within_any_stretch() {
        let odd = Tally::of(7, |at| at % 2 == 1);
        for start in 0..=7 {
            for end in 0..=7 {
                let counted = (start..end).filter(|at| at % 2 == 1).count();
                assert_eq!(odd.within(&(start..end)), counted, "{start}..{end}");
            }
        }
    }
}
