//! The words of all phrases, found by spelling, or by a near miss of it.

use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// Position of a word in the vocabulary.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct WordId(pub u32);

impl WordId {
    /// The position as a plain index.
    #[must_use]
    pub fn at(self) -> usize {
        self.0 as usize
    }
}

/// Shortest word that may be corrected by one slip.
const ONE_SLIP: usize = 5;
/// Shortest word that may be corrected by two slips.
const TWO_SLIPS: usize = 9;
/// Longest word that is looked at for slips; longer ones are no English words.
const LONGEST: usize = 24;

/// Every known word.
#[derive(Debug, Clone, Default)]
pub struct Vocabulary {
    words: Vec<String>,
    /// Buckets by hash of the word.
    buckets: Vec<Vec<WordId>>,
    /// Made when the first unknown word is met, since most messages have none.
    neighbours: OnceLock<Neighbours>,
    /// Words that are never what a misspelt word is taken for.
    guarded: Vec<bool>,
    /// Frequent slips and what is meant.
    slips: BTreeMap<String, String>,
}

impl Vocabulary {
    /// The word of that position.
    #[must_use]
    pub fn word(&self, id: WordId) -> &str {
        &self.words[id.at()]
    }

    /// How many words there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.words.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// A vocabulary of these words; `guarded` words must be spelt as they are.
    ///
    /// # Panics
    /// Beyond 2^32 words.
    #[must_use]
    pub fn new(
        words: BTreeSet<String>,
        guarded: &BTreeSet<String>,
        slips: BTreeMap<String, String>,
    ) -> Self {
        let size = (words.len() * 2).next_power_of_two();
        let mut made = Self {
            buckets: vec![Vec::new(); size],
            slips,
            ..Self::default()
        };
        for (at, word) in words.into_iter().enumerate() {
            let id = WordId(u32::try_from(at).expect("fewer than 2^32 words"));
            let bucket = made.bucket(&word);
            made.buckets[bucket].push(id);
            made.guarded.push(guarded.contains(&word));
            made.words.push(word);
        }
        made
    }

    fn bucket(&self, word: &str) -> usize {
        let hash = hashed(word.chars());
        let mask = self.buckets.len() as u64 - 1;
        usize::try_from((hash ^ (hash >> 32)) & mask).expect("within the table")
    }

    /// The word spelt exactly so.
    #[must_use]
    pub fn find(&self, word: &str) -> Option<WordId> {
        if self.buckets.is_empty() {
            return None;
        }
        self.buckets[self.bucket(word)]
            .iter()
            .copied()
            .find(|&id| self.word(id) == word)
    }

    /// The one word this may be a slip of; none where two are equally near.
    ///
    /// The first letter must be right, or swapped with the second. Words of fewer than five letters
    /// are never corrected, and a guarded word is never arrived at.
    #[must_use]
    pub fn correct(&self, word: &str) -> Option<WordId> {
        if let Some(meant) = self.slips.get(word) {
            return self.find(meant);
        }
        if let Some(meant) = self.shortened_drawl(word) {
            return Some(meant);
        }
        let length = word.chars().count();
        if !(ONE_SLIP..=LONGEST).contains(&length) || !word.chars().all(char::is_alphabetic) {
            return None;
        }
        let mut near: Vec<((usize, Slip), WordId)> = Vec::new();
        let neighbours = self.neighbours.get_or_init(|| self.neighbours());
        for rest in shortened(word) {
            for id in neighbours.of(rest) {
                let known = self.word(id);
                let slips = strsim::osa_distance(word, known);
                let shorter = length.min(known.chars().count());
                if slips <= allowed(shorter) && same_start(word, known) {
                    near.push(((slips, slip(word, known)), id));
                }
            }
        }
        near.sort_unstable();
        near.dedup();
        match near.as_slice() {
            [(_, id)] => Some(*id),
            [(a, id), (b, other), ..] if a < b || self.akin(*id, *other) => Some(*id),
            _ => None,
        }
    }

    /// Every word that may be arrived at, by what is left when letters are dropped.
    fn neighbours(&self) -> Neighbours {
        let mut pairs = Vec::new();
        for (id, word) in (0_u32..).map(WordId).zip(&self.words) {
            if !self.guarded[id.at()] {
                pairs.extend(shortened(word).into_iter().map(|rest| (rest, id)));
            }
        }
        pairs.sort_unstable();
        pairs.dedup();
        Neighbours(pairs)
    }

    /// "sooo", "slooowly": letters drawn out, written once or twice.
    fn shortened_drawl(&self, word: &str) -> Option<WordId> {
        let limited = |most: usize| {
            let mut kept: Vec<char> = Vec::new();
            for c in word.chars() {
                let run = kept.iter().rev().take_while(|&&old| old == c).count();
                if run < most {
                    kept.push(c);
                }
            }
            kept.into_iter().collect::<String>()
        };
        let twice = limited(2);
        if twice.len() == word.len() {
            return None;
        }
        self.find(&twice).or_else(|| self.find(&limited(1)))
    }

    /// Whether two words are forms of one: leak, leaks.
    fn akin(&self, one: WordId, other: WordId) -> bool {
        let (one, other) = (self.word(one), self.word(other));
        let shared = one
            .chars()
            .zip(other.chars())
            .take_while(|(a, b)| a == b)
            .count();
        shared + 3 >= one.chars().count().max(other.chars().count()) && shared >= 4
    }
}

/// How a word came to be misspelt, the likeliest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Slip {
    /// A doubled letter written once, or the other way round: "driping".
    Doubled,
    /// Two letters changed places: "strats".
    Swapped,
    /// Anything else.
    Other,
}

fn slip(word: &str, known: &str) -> Slip {
    let single = |word: &str| {
        let mut letters: Vec<char> = word.chars().collect();
        letters.dedup();
        letters
    };
    let sorted = |word: &str| {
        let mut letters: Vec<char> = word.chars().collect();
        letters.sort_unstable();
        letters
    };
    if single(word) == single(known) {
        Slip::Doubled
    } else if sorted(word) == sorted(known) {
        Slip::Swapped
    } else {
        Slip::Other
    }
}

fn allowed(length: usize) -> usize {
    match length {
        0..ONE_SLIP => 0,
        ONE_SLIP..TWO_SLIPS => 1,
        _ => 2,
    }
}

fn same_start(word: &str, known: &str) -> bool {
    let mut a = word.chars();
    let mut b = known.chars();
    let (a1, a2, b1, b2) = (a.next(), a.next(), b.next(), b.next());
    a1 == b1 || (a1 == b2 && a2 == b1)
}

/// What is left of words when letters are dropped, as hashes, with the words; sorted.
#[derive(Debug, Clone)]
struct Neighbours(Vec<(u64, WordId)>);

impl Neighbours {
    /// The words that may leave this.
    fn of(&self, rest: u64) -> impl Iterator<Item = WordId> {
        let from = self.0.partition_point(|&(known, _)| known < rest);
        self.0[from..]
            .iter()
            .take_while(move |&&(known, _)| known == rest)
            .map(|&(_, id)| id)
    }
}

/// Words, each once, in no order: quicker to fill than a sorted set where most come many times.
#[derive(Debug)]
pub(super) struct Gathered(Vec<Vec<String>>);

impl Default for Gathered {
    fn default() -> Self {
        const BUCKETS: usize = 1 << 14;
        Self(vec![Vec::new(); BUCKETS])
    }
}

impl Gathered {
    /// Adds a word, if it is new.
    pub fn add(&mut self, word: &str) {
        let size = self.0.len() as u64;
        let at = usize::try_from(hashed(word.chars()) % size).expect("within the table");
        let bucket = &mut self.0[at];
        if bucket.iter().all(|known| known != word) {
            bucket.push(word.to_owned());
        }
    }

    /// All of them, sorted.
    pub fn into_set(self) -> BTreeSet<String> {
        self.0.into_iter().flatten().collect()
    }
}

/// FNV-1a: small, fixed, good enough for some thousand words. Where two words share a hash, they are
/// told apart by their letters.
fn hashed(letters: impl Iterator<Item = char>) -> u64 {
    letters.fold(0xcbf2_9ce4_8422_2325_u64, |hash, letter| {
        (hash ^ u64::from(letter)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// Hashes of the word, and of the word with one letter dropped; of long words also with two.
fn shortened(word: &str) -> Vec<u64> {
    let letters: Vec<char> = word.chars().collect();
    let length = letters.len();
    if length < ONE_SLIP - 1 {
        return Vec::new();
    }
    let without = |one: usize, other: usize| {
        let kept = letters.iter().enumerate();
        hashed(
            kept.filter(|&(at, _)| at != one && at != other)
                .map(|(_, &c)| c),
        )
    };
    let mut all = vec![without(length, length)];
    all.extend((0..length).map(|one| without(one, one)));
    if length + 1 >= TWO_SLIPS {
        let pairs = (0..length).flat_map(|one| (one + 1..length).map(move |other| (one, other)));
        all.extend(pairs.map(|(one, other)| without(one, other)));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::Vocabulary;
    use std::collections::{BTreeMap, BTreeSet};

    fn vocabulary() -> Vocabulary {
        let words = [
            "leaking",
            "carburettor",
            "petrol",
            "multimeter",
            "fumes",
            "fuses",
            "flames",
            "dripping",
            "driving",
        ];
        let words: BTreeSet<String> = words.map(str::to_owned).into();
        Vocabulary::new(
            words,
            &BTreeSet::from(["flames".to_owned()]),
            BTreeMap::new(),
        )
    }

    #[test]
    fn near_misses() {
        let cases = [
            ("leeking", Some("leaking")),
            ("pertol", Some("petrol")),
            ("carburator", Some("carburettor")),
            ("mutlimetr", Some("multimeter")),
            ("fuzes", None),  // as near to "fumes" as to "fuses"
            ("fuoes", None),  // nearer to neither of two safety words
            ("flanes", None), // guarded
            ("leak", None),   // too short
            ("zzzzzz", None),
            ("driping", Some("dripping")), // and not "driving"
            ("leeeaking", Some("leaking")),
            ("flaaames", Some("flames")), // drawn out, yet the very word
        ];
        for (word, expected) in cases {
            let vocabulary = vocabulary();
            let found = vocabulary.correct(word).map(|id| vocabulary.word(id));
            assert_eq!(found, expected, "{word}");
        }
    }
}
