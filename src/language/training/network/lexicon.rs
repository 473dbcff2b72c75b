//! The words that a network learns, and what their vectors are made of.

use super::Example;
use fastrand::Rng;
use std::collections::{BTreeMap, BTreeSet};

/// A word has a vector of its own where so many messages hold it.
const FEWEST: usize = 2;

/// While learning: how often a word is taken as any word, and how often as any word of its senses.
const UNHEARD: f32 = 0.05;
const BY_SENSE: f32 = 0.1;

/// Words of one sense: things that petrol is caught in, say, or ways of dripping.
pub type Sense = BTreeSet<String>;

/// The senses of a file: on each line a name, a tab, and words parted by spaces.
///
/// # Errors
/// The first line that is not like that.
pub fn senses(text: &str) -> Result<Vec<Sense>, String> {
    let sense = |(nth, line): (usize, &str)| {
        let words = line.split_once('\t').map(|(_, words)| words.split(' '));
        let words = words.filter(|words| words.clone().all(|word| !word.is_empty()));
        words
            .map(|words| words.map(str::to_owned).collect())
            .ok_or_else(|| {
                format!("line {nth}: not a name, a tab, and words parted by single spaces")
            })
    };
    (1..).zip(text.lines()).map(sense).collect()
}

/// The words of messages and senses. Every word is one of three things by turns: itself, any word of its
/// senses, or any word at all. Each is a place: words first, then the unknown, then words by their senses
/// alone.
pub(super) struct Lexicon {
    /// In order.
    pub(super) words: Vec<String>,
    /// By place: the rows of numbers that add up to its vector.
    pub(super) rows: Vec<Vec<usize>>,
    /// How many rows there are for words, the unknown among them; those of senses follow.
    pub(super) own: usize,
    /// How many rows there are.
    pub(super) all: usize,
}

impl Lexicon {
    pub(super) fn of(examples: &[Example], senses: &[Sense]) -> Self {
        let often = often(examples);
        let every: BTreeSet<&String> = often
            .iter()
            .copied()
            .chain(senses.iter().flatten())
            .collect();
        let words: Vec<String> = every.into_iter().cloned().collect();
        let unknown = words.len();
        let of_senses = |word: &String| {
            let has = |(_, sense): &(usize, &Sense)| sense.contains(word);
            let senses = (unknown + 1..).zip(senses).filter(has);
            senses.map(|(row, _)| row).collect::<Vec<_>>()
        };
        let row = |(at, word): (usize, &String)| {
            let own = if often.contains(word) { at } else { unknown };
            [vec![own], of_senses(word)].concat()
        };
        let by_sense = |word: &String| [vec![unknown], of_senses(word)].concat();
        let rows = words.iter().enumerate().map(row);
        let rows = rows
            .chain([vec![unknown]])
            .chain(words.iter().map(by_sense));
        Self {
            rows: rows.collect(),
            own: unknown + 1,
            all: unknown + 1 + senses.len(),
            words,
        }
    }

    /// The place of a word.
    pub(super) fn place(&self, word: &String) -> usize {
        let found = self.words.binary_search(word);
        found.unwrap_or(self.unknown())
    }

    /// The words at some places as they are heard while learning.
    pub(super) fn heard(&self, places: &[usize], rng: &mut Rng) -> Vec<usize> {
        let heard = |place: &usize| match rng.f32() {
            by if by < UNHEARD => self.unknown(),
            by if by < UNHEARD + BY_SENSE => self.by_sense(*place),
            _ => *place,
        };
        places.iter().map(heard).collect()
    }

    /// The place of any word at all.
    pub(super) fn unknown(&self) -> usize {
        self.own - 1
    }

    /// The place of any word of the senses that the word at a place has.
    pub(super) fn by_sense(&self, place: usize) -> usize {
        if place == self.unknown() {
            place
        } else {
            place + self.own
        }
    }
}

/// Words that enough messages hold.
fn often(examples: &[Example]) -> BTreeSet<&String> {
    let mut counts: BTreeMap<&String, (usize, usize)> = BTreeMap::new();
    for (nth, example) in (1..).zip(examples) {
        for word in &example.words {
            let (last, count) = counts.entry(word).or_default();
            *count += usize::from(*last != nth);
            *last = nth;
        }
    }
    counts.retain(|_, (_, count)| *count >= FEWEST);
    counts.into_keys().collect()
}

/// Two words, one of two senses and one of one.
#[cfg(test)]
pub(super) fn of_two_words() -> Lexicon {
    Lexicon {
        words: vec!["jar".into(), "mug".into()],
        rows: vec![
            vec![0, 3, 4],
            vec![1, 3],
            vec![2],
            vec![2, 3, 4],
            vec![2, 3],
        ],
        own: 3,
        all: 5,
    }
}

#[cfg(test)]
mod tests {
    use super::{Example, Lexicon, senses};

    #[test]
    fn words_have_rows_of_their_own_and_of_their_senses() {
        let example = |words: &str| Example {
            words: words.split(' ').map(str::to_owned).collect(),
            sides: Vec::new(),
            parts: Vec::new(),
        };
        let examples = [example("jar of jar"), example("mug of"), example("jar")];
        let senses = senses("vessel\tjar mug\nglass\tjar").unwrap();
        let lexicon = Lexicon::of(&examples, &senses);
        assert_eq!(lexicon.words, ["jar", "mug", "of"]);
        let rows = |word: &str| &lexicon.rows[lexicon.place(&word.to_owned())];
        assert_eq!(rows("jar"), &[0, 4, 5]);
        assert_eq!(rows("mug"), &[3, 4], "held by one message alone");
        assert_eq!(rows("of"), &[2]);
        assert_eq!(rows("pot"), &[3]);
        assert_eq!(lexicon.rows[lexicon.by_sense(0)], [3, 4, 5]);
        assert_eq!(lexicon.by_sense(lexicon.unknown()), lexicon.unknown());
        assert_eq!((lexicon.own, lexicon.all), (4, 6));
    }

    #[test]
    fn a_spoilt_line_is_named() {
        for text in ["vessel\tjar\npot", "vessel\tjar\npot\ta  b"] {
            let error = senses(text).unwrap_err();
            assert!(error.starts_with("line 2: "), "{error}");
        }
    }
}
