//! Every set of at most three faults, numbered densely: none, then ones, pairs, triples.

use std::ops::Range;

/// The most faults a set may hold.
pub const LARGEST: usize = 3;

/// The numbering for one count of faults.
///
/// A set is written as three fault positions in ascending order, padded at the end with the
/// count of faults itself, which stands for "no further fault".
#[derive(Debug, Clone, PartialEq)]
pub struct Sets {
    faults: usize,
    pair_rows: Vec<usize>,
    triple_rows: Vec<usize>,
    count: usize,
}

/// Members of a set, ascending, padded with the count of faults.
pub type Members = [usize; LARGEST];

impl Sets {
    /// The numbering for that many faults.
    pub fn of(faults: usize) -> Self {
        let mut next = 1 + faults;
        let mut pair_rows = vec![0; faults];
        for (a, row) in pair_rows.iter_mut().enumerate() {
            *row = next - (a + 1);
            next += faults - a - 1;
        }
        let mut triple_rows = vec![0; faults * faults];
        for a in 0..faults {
            for b in a + 1..faults {
                triple_rows[a * faults + b] = next - (b + 1);
                next += faults - b - 1;
            }
        }
        Self {
            faults,
            pair_rows,
            triple_rows,
            count: next,
        }
    }

    /// How many sets there are, the empty one included.
    pub fn count(&self) -> usize {
        self.count
    }

    /// How many faults there are; also the padding in [`Members`].
    pub fn faults(&self) -> usize {
        self.faults
    }

    /// Where the pair `a`, `b` stands is this plus `b`; `a` is below `b`.
    pub fn pair_row(&self, a: usize) -> usize {
        self.pair_rows[a]
    }

    /// Where the triple `a`, `b`, `c` stands is this plus `c`; ascending.
    pub fn triple_row(&self, a: usize, b: usize) -> usize {
        self.triple_rows[a * self.faults + b]
    }

    /// Where the triples that begin with `a`, `b` stand, by their third; `a` is below `b`.
    pub fn triples(&self, a: usize, b: usize) -> Range<usize> {
        let row = self.triple_row(a, b);
        row + b + 1..row + self.faults
    }

    /// Where a set stands.
    pub fn position(&self, [a, b, c]: Members) -> usize {
        match (a == self.faults, b == self.faults, c == self.faults) {
            (true, ..) => 0,
            (_, true, _) => 1 + a,
            (_, _, true) => self.pair_rows[a] + b,
            _ => self.triple_row(a, b) + c,
        }
    }

    /// Calls `visit` with every set in the order of their numbers.
    pub fn for_each(&self, mut visit: impl FnMut(usize, Members)) {
        let none = self.faults;
        visit(0, [none; LARGEST]);
        for a in 0..none {
            visit(1 + a, [a, none, none]);
        }
        for a in 0..none {
            for b in a + 1..none {
                visit(self.pair_rows[a] + b, [a, b, none]);
            }
        }
        for a in 0..none {
            for b in a + 1..none {
                let row = self.triple_row(a, b);
                for c in b + 1..none {
                    visit(row + c, [a, b, c]);
                }
            }
        }
    }
}

/// The set without one of its members, which it need not have.
pub fn without([a, b, c]: Members, fault: usize, none: usize) -> Members {
    if a == fault {
        [b, c, none]
    } else if b == fault {
        [a, c, none]
    } else if c == fault {
        [a, b, none]
    } else {
        [a, b, c]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The count is the sum of the binomial coefficients C(n, 0..=3).
    #[test]
    fn numbers_every_set_once() {
        for (faults, count) in [
            (0, 1),
            (1, 2),
            (2, 4),
            (3, 8),
            (4, 15),
            (55, 27_776),
            (80, 85_401),
        ] {
            let sets = Sets::of(faults);
            let mut next = 0;
            sets.for_each(|at, members| {
                assert_eq!(at, next);
                assert_eq!(sets.position(members), at);
                next += 1;
            });
            assert_eq!((next, sets.count()), (count, count));
            for (a, b) in (0..faults).flat_map(|a| (a + 1..faults).map(move |b| (a, b))) {
                let thirds: Vec<usize> =
                    (b + 1..faults).map(|c| sets.position([a, b, c])).collect();
                assert_eq!(sets.triples(a, b).collect::<Vec<_>>(), thirds);
            }
        }
    }

    #[test]
    fn takes_a_member_out() {
        assert_eq!(without([1, 4, 7], 4, 9), [1, 7, 9]);
        assert_eq!(without([1, 4, 9], 4, 9), [1, 9, 9]);
        assert_eq!(without([1, 4, 7], 5, 9), [1, 4, 7]);
    }
}
