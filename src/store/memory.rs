//! An engine that forgets everything when it is dropped, for tests and scripts.

use super::engine::{Applied, Batch, Engine, Op, Row, Tree, Visit};
use super::problem::StoreError;
use std::collections::BTreeMap;
use std::ops::Bound;

/// A tree and a key in it.
type Place = (Tree, Vec<u8>);

/// Everything in one ordered map.
#[derive(Debug, Default)]
pub struct Memory {
    rows: BTreeMap<Place, Vec<u8>>,
}

impl Memory {
    /// Rows of a tree whose key starts with the prefix.
    fn rows<'a>(
        &'a self,
        tree: Tree,
        prefix: &'a [u8],
    ) -> impl DoubleEndedIterator<Item = (&'a Vec<u8>, &'a Vec<u8>)> {
        let from = Bound::Included((tree, prefix.to_vec()));
        let to = match after(prefix) {
            Some(end) => Bound::Excluded((tree, end)),
            None => Bound::Unbounded,
        };
        self.rows
            .range((from, to))
            .filter(move |((of, _), _)| *of == tree)
            .map(|((_, key), value)| (key, value))
    }
}

/// The first key after all keys with this prefix; none if there is no such key.
fn after(prefix: &[u8]) -> Option<Vec<u8>> {
    let last = prefix.iter().rposition(|byte| *byte != u8::MAX)?;
    let mut end = prefix[..=last].to_vec();
    end[last] += 1;
    Some(end)
}

impl Engine for Memory {
    fn apply(&mut self, batch: &Batch) -> Result<Applied, StoreError> {
        let mut staged: BTreeMap<Place, Option<Vec<u8>>> = BTreeMap::new();
        for op in batch.0.iter().cloned() {
            match op {
                Op::Add(tree, key, value) => {
                    let row = (tree, key);
                    let before = match staged.get(&row) {
                        Some(staged) => staged.is_some(),
                        None => self.rows.contains_key(&row),
                    };
                    if before {
                        return Ok(Applied::Refused(row.0, row.1));
                    }
                    staged.insert(row, Some(value));
                }
                Op::Put(tree, key, value) => {
                    staged.insert((tree, key), Some(value));
                }
                Op::Remove(tree, key) => {
                    staged.insert((tree, key), None);
                }
            }
        }
        for (row, value) in staged {
            match value {
                Some(value) => self.rows.insert(row, value),
                None => self.rows.remove(&row),
            };
        }
        Ok(Applied::Whole)
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        Ok(())
    }

    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, StoreError> {
        Ok(self.rows.get(&(tree, key.to_vec())).cloned())
    }

    fn last(&self, tree: Tree, prefix: &[u8]) -> Result<Option<Row>, StoreError> {
        let row = self.rows(tree, prefix).next_back();
        Ok(row.map(|(key, value)| (key.clone(), value.clone())))
    }

    fn scan(&self, tree: Tree, prefix: &[u8], visit: Visit<'_>) -> Result<(), StoreError> {
        self.rows(tree, prefix)
            .try_for_each(|(key, value)| visit(key, value))
    }
}
