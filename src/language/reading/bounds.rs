//! Two bounds of one reading: "more than 13 but less than 14".

use super::{Sorter, Taken};
use crate::language::interpretation::Reading;
use crate::language::token::What;

/// Tokens between the two numbers.
const APART: usize = 6;

impl Sorter<'_, '_, '_> {
    /// Joins a bound from below and one from above that stand next to each other.
    pub(super) fn join_bounds(&self, taken: &mut Vec<Taken>) {
        let mut at = 1;
        while at < taken.len() {
            match self.joint(&taken[at - 1], &taken[at]) {
                Some(ends) => {
                    let reading = &mut taken[at - 1].reading;
                    (reading.low, reading.high) = (Some(ends.0), Some(ends.1));
                    taken.remove(at);
                }
                None => at += 1,
            }
        }
    }

    /// Both ends, where the two are bounds of one reading.
    fn joint(&self, last: &Taken, this: &Taken) -> Option<(f64, f64)> {
        let from = self.text.quantities[last.at].tokens.end;
        let mut between = from..self.text.quantities[this.at].tokens.start;
        let near = last.sentence == this.sentence && between.len() <= APART;
        let divided = between.any(|at| {
            let token = &self.text.tokens[at];
            matches!(token.what, What::Mark(';' | ':' | '='))
        });
        let bounds = match (end(&last.reading), end(&this.reading)) {
            ((Some(low), None), (None, Some(high))) | ((None, Some(high)), (Some(low), None)) => {
                Some((low, high))
            }
            _ => None,
        };
        let one = last.kind == this.kind && near && !divided;
        bounds.filter(|(low, high)| one && low < high)
    }
}

fn end(reading: &Reading) -> (Option<f64>, Option<f64>) {
    (reading.low, reading.high)
}
