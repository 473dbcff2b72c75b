//! Synonym classes: one walk over a tree of words finds every member that begins at a word.

use super::vocabulary::WordId;
use std::collections::BTreeSet;

/// Position of a class.
pub type ClassIx = u16;

/// All classes as one tree of words.
#[derive(Debug, Clone)]
pub struct Classes {
    nodes: Vec<Node>,
    filler: Vec<bool>,
    names: Vec<String>,
    /// By class: the words its members begin with.
    first: Vec<BTreeSet<WordId>>,
}

#[derive(Debug, Clone, Default)]
struct Node {
    /// Sorted by word.
    next: Vec<(WordId, u32)>,
    /// Classes that have the way here as a member.
    ends: Vec<ClassIx>,
}

impl Classes {
    /// A tree with no members; `names` are in order.
    #[must_use]
    pub fn new(names: Vec<String>, words: usize) -> Self {
        Self {
            nodes: vec![Node::default()],
            filler: vec![false; words],
            first: vec![BTreeSet::new(); names.len()],
            names,
        }
    }

    /// Position of the class of that name.
    #[must_use]
    pub fn position(&self, name: &str) -> Option<ClassIx> {
        let found = self
            .names
            .binary_search_by(|known| known.as_str().cmp(name));
        let at = found.ok()?;
        ClassIx::try_from(at).ok()
    }

    /// How many classes there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.names.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.names.is_empty()
    }

    /// The name of a class.
    #[must_use]
    pub fn name(&self, class: ClassIx) -> &str {
        &self.names[usize::from(class)]
    }

    /// Adds a member.
    ///
    /// # Panics
    /// Beyond 2^32 members.
    pub fn insert(&mut self, class: ClassIx, member: &[WordId]) {
        let mut at = 0;
        self.first[usize::from(class)].extend(member.first());
        for &word in member {
            at = match self.nodes[at]
                .next
                .binary_search_by_key(&word, |&(word, _)| word)
            {
                Ok(found) => self.nodes[at].next[found].1 as usize,
                Err(place) => {
                    let new = u32::try_from(self.nodes.len()).expect("fewer than 2^32 members");
                    self.nodes.push(Node::default());
                    self.nodes[at].next.insert(place, (word, new));
                    new as usize
                }
            };
        }
        if !self.nodes[at].ends.contains(&class) {
            self.nodes[at].ends.push(class);
        }
        if let ([only], "filler") = (member, self.names[usize::from(class)].as_str()) {
            self.filler[only.at()] = true;
        }
    }

    /// Whether the word may stand between any two words of a phrase.
    #[must_use]
    pub fn is_filler(&self, word: WordId) -> bool {
        self.filler[word.at()]
    }

    /// First words of the members of a class.
    #[must_use]
    pub fn first_words(&self, class: ClassIx) -> &BTreeSet<WordId> {
        &self.first[usize::from(class)]
    }

    /// How many of the next words the longest member of a class takes, if one begins here.
    #[must_use]
    pub fn longest(
        &self,
        class: &str,
        word_at: impl FnMut(usize) -> Option<WordId>,
    ) -> Option<usize> {
        let class = self.position(class)?;
        let mut longest = None;
        self.walk(word_at, |known, length| {
            if known == class {
                longest = Some(length);
            }
        });
        longest
    }

    /// Calls `found` with every class that has a member made of the next words, and its length.
    pub fn walk(
        &self,
        mut word_at: impl FnMut(usize) -> Option<WordId>,
        mut found: impl FnMut(ClassIx, usize),
    ) {
        let mut node = 0;
        let mut length = 0;
        while let Some(word) = word_at(length) {
            let next = &self.nodes[node].next;
            let Ok(place) = next.binary_search_by_key(&word, |&(word, _)| word) else {
                return;
            };
            node = next[place].1 as usize;
            length += 1;
            for &class in &self.nodes[node].ends {
                found(class, length);
            }
        }
    }
}
