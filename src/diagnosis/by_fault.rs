//! Lists by fault in two pieces of memory, however many faults there are.

/// For every fault a list.
#[derive(Debug, Clone, Default)]
pub struct ByFault<T> {
    /// By fault: where its list ends and the next one begins.
    ends: Vec<usize>,
    items: Vec<T>,
}

impl<T: Copy + Default> ByFault<T> {
    /// Sorts items by their fault in two passes: one counts, one places.
    pub fn of<I: Iterator<Item = (usize, T)>>(faults: usize, items: impl Fn() -> I) -> Self {
        let mut ends = vec![0; faults + 1];
        items().for_each(|(fault, _)| ends[fault + 1] += 1);
        for fault in 0..faults {
            ends[fault + 1] += ends[fault];
        }
        let mut sorted = vec![T::default(); ends[faults]];
        for (fault, item) in items() {
            sorted[ends[fault]] = item;
            ends[fault] += 1;
        }
        Self {
            ends,
            items: sorted,
        }
    }

    /// The list of one.
    pub fn get(&self, fault: usize) -> &[T] {
        let start = fault.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.items[start..self.ends[fault]]
    }
}

#[cfg(test)]
mod tests {
    use super::ByFault;

    #[test]
    fn every_fault_gets_its_own_items_in_their_order() {
        let items = [(2, 'a'), (0, 'b'), (2, 'c'), (3, 'd')];
        let lists = ByFault::of(4, || items.into_iter());
        let got: Vec<&[char]> = (0..4).map(|fault| lists.get(fault)).collect();
        assert_eq!(got, [&['b'][..], &[], &['a', 'c'], &['d']]);
    }
}
