//! One thing that is wrong with the knowledge: where it stands, and what to do about it.

use std::ops::Range;

/// A fault in the data files. All of them are reported at once; none stops the search.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Path of the file within the knowledge folder.
    pub file: String,
    /// Bytes of the file the problem stands in, where it can be pinned down.
    pub span: Option<Range<usize>>,
    /// What is wrong, one sentence.
    pub what: String,
    /// What to do about it, one sentence.
    pub remedy: String,
}
