//! Seconds told off aloud: "I counted to thirty", "counted twenty on the kitchen clock".

use super::{Quantity, Reader};

/// Seconds that anybody counts aloud (common practice, no source).
const SECONDS: std::ops::RangeInclusive<f64> = 3.0..=600.0;
/// Tokens from a number to the watch it was told off by.
const NEAR: usize = 4;

impl Reader<'_> {
    /// Gives the numbers that somebody counted to the unit of seconds.
    pub(super) fn counted(&self, quantities: &mut [Quantity]) {
        for quantity in quantities {
            if quantity.is_count()
                && SECONDS.contains(&quantity.value)
                && self.is_told_off(quantity)
            {
                quantity.unit = self.seconds();
            }
        }
    }

    fn is_told_off(&self, quantity: &Quantity) -> bool {
        let (start, end) = (quantity.tokens.start, quantity.tokens.end);
        let counting = |back: usize| start >= back && self.in_class(start - back, "counting");
        let to =
            start > 0 && self.in_class(start - 1, "counted-to") && (counting(2) || counting(3));
        let by_watch = || {
            let on = self.in_class(end, "told-by");
            on && (end..end + NEAR).any(|at| self.in_class(at, "timepiece"))
        };
        to && (self.ends_an_entry(end) || by_watch()) || counting(1) && by_watch()
    }
}
