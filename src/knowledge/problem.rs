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

impl Problem {
    /// A problem of a whole file.
    #[must_use]
    pub fn of_file(file: &str, what: String, remedy: &str) -> Self {
        Self {
            file: file.to_owned(),
            span: None,
            what,
            remedy: remedy.to_owned(),
        }
    }

    /// The line it stands on, counted from 1, given the file's text.
    #[must_use]
    pub fn line(&self, text: &str) -> usize {
        let start = self.span.as_ref().map_or(0, |span| span.start);
        1 + text
            .bytes()
            .take(start)
            .filter(|byte| *byte == b'\n')
            .count()
    }
}
