//! What a sequence cannot do without, so that it is walked only where all of that stands.

use super::SequenceIx;
use super::class::ClassIx;
use super::pattern::Step;
use super::vocabulary::WordId;
use std::collections::BTreeMap;

/// For each sequence: lists of words of each of which one must be there, and classes.
#[derive(Debug, Clone, Default)]
pub struct Needs {
    /// By sequence, positions of lists.
    lists: Vec<Vec<u32>>,
    /// By sequence.
    classes: Vec<Vec<ClassIx>>,
    /// Every list, once.
    words: Vec<Vec<WordId>>,
    /// Positions of lists by their fingerprint.
    known: BTreeMap<u64, Vec<u32>>,
    /// By word, the lists it stands in.
    of_word: Vec<Vec<u32>>,
}

impl Needs {
    /// For a vocabulary of so many words.
    #[must_use]
    pub fn of(words: usize) -> Self {
        Self {
            of_word: vec![Vec::new(); words],
            ..Self::default()
        }
    }

    /// Adds the next sequence. The first step is what it is looked up by, and need not be asked for.
    pub fn add(&mut self, steps: &[Step]) {
        let (mut lists, mut classes) = (Vec::new(), Vec::new());
        for step in steps.iter().skip(1) {
            match step {
                Step::Words(words) => lists.push(self.list(words)),
                Step::Class(class) => classes.push(*class),
                Step::Any(options) => lists.extend(one_of(options).map(|words| self.list(&words))),
                Step::Maybe(_) | Step::Number(_) | Step::Gap | Step::Begin | Step::End => {}
            }
        }
        self.lists.push(lists);
        self.classes.push(classes);
    }

    fn list(&mut self, words: &[WordId]) -> u32 {
        let alike = self.known.entry(fingerprint(words)).or_default();
        let known = alike.iter().find(|at| self.words[**at as usize] == words);
        if let Some(at) = known {
            return *at;
        }
        let at = u32::try_from(self.words.len()).expect("fewer than 2^32 lists");
        alike.push(at);
        self.words.push(words.to_vec());
        for word in words {
            self.of_word[word.at()].push(at);
        }
        at
    }

    /// How many lists there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.words.len()
    }

    /// The lists a word stands in.
    #[must_use]
    pub fn with(&self, word: WordId) -> &[u32] {
        &self.of_word[word.at()]
    }

    /// The lists and classes a sequence needs.
    #[must_use]
    pub fn of_sequence(&self, sequence: SequenceIx) -> (&[u32], &[ClassIx]) {
        let at = sequence as usize;
        (&self.lists[at], &self.classes[at])
    }
}

/// Words of which one must be there for any of the options to match: the last of each option, which is
/// seldomer than a "no" or "the" at its beginning. None where an option may do without a word.
fn one_of(options: &[Vec<Step>]) -> Option<Vec<WordId>> {
    let last = |option: &Vec<Step>| {
        option.iter().rev().find_map(|step| match step {
            Step::Words(words) => Some(words.clone()),
            _ => None,
        })
    };
    let each: Option<Vec<Vec<WordId>>> = options.iter().map(last).collect();
    let mut words = each?.concat();
    words.sort_unstable();
    words.dedup();
    Some(words)
}

/// FNV-1a over the words.
fn fingerprint(words: &[WordId]) -> u64 {
    words.iter().fold(0xcbf2_9ce4_8422_2325, |hash: u64, word| {
        (hash ^ u64::from(word.0)).wrapping_mul(0x0100_0000_01b3)
    })
}
