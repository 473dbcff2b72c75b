//! From pieces as written to steps over word ids.

use super::class::Classes;
use super::inflect;
use super::pattern::{self, Piece, Step};
use super::vocabulary::{Gathered, Vocabulary, WordId};
use super::{Phrases, SequenceIx};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// Sequences by the fingerprint of their steps, so that each is stored once.
#[derive(Default)]
pub(super) struct Sequences(BTreeMap<u64, Vec<SequenceIx>>);

impl Sequences {
    /// Where this sequence stands, adding it if it is new.
    pub fn position(&mut self, pieces: &[Piece], phrases: &mut Phrases) -> SequenceIx {
        let steps = steps(pieces, phrases);
        let alike = self.0.entry(fingerprint(&steps)).or_default();
        let known = alike
            .iter()
            .find(|at| phrases.sequences[**at as usize] == steps);
        if let Some(at) = known {
            return *at;
        }
        let at = add(phrases, steps);
        alike.push(at);
        at
    }
}

/// A number that is the same for the same steps, and seldom for others (FNV-1a over their parts).
fn fingerprint(steps: &[Step]) -> u64 {
    const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    let mix = |hash: u64, part: u64| (hash ^ part).wrapping_mul(PRIME);
    let options = |start: u64, options: &[Vec<Step>]| {
        options
            .iter()
            .fold(start, |hash, option| mix(hash, fingerprint(option)))
    };
    steps.iter().fold(BASIS, |hash, step| {
        let part = match step {
            Step::Gap => 1,
            Step::Begin => 2,
            Step::End => 3,
            Step::Number(_) => 4,
            Step::Class(class) => mix(5, u64::from(*class)),
            Step::Words(words) => words
                .iter()
                .fold(6, |hash, word| mix(hash, u64::from(word.0))),
            Step::Any(all) => options(7, all),
            Step::Maybe(all) => options(8, all),
        };
        mix(hash, part)
    })
}

fn add(phrases: &mut Phrases, steps: Vec<Step>) -> SequenceIx {
    let at = SequenceIx::try_from(phrases.sequences.len()).expect("fewer than 2^32 sequences");
    let mut first = First::default();
    first.of(&steps, &phrases.classes);
    first.words.sort_unstable();
    first.words.dedup();
    for word in first.words {
        phrases.starts[word.at()].push(at);
    }
    if first.number {
        phrases.number_starts.push(at);
    }
    phrases.needs.add(&steps);
    phrases.sequences.push(steps);
    phrases.heads.push(Vec::new());
    at
}

/// What a sequence may begin with.
#[derive(Default)]
struct First {
    words: Vec<WordId>,
    number: bool,
}

impl First {
    /// Adds what `steps` may begin with; true if they may also match nothing.
    fn of(&mut self, steps: &[Step], classes: &Classes) -> bool {
        for step in steps {
            let may_be_empty = match step {
                Step::Words(words) => {
                    self.words.extend(words);
                    false
                }
                Step::Class(class) => {
                    self.words.extend(classes.first_words(*class));
                    false
                }
                Step::Number(_) => {
                    self.number = true;
                    false
                }
                Step::Gap | Step::Begin | Step::End => true,
                Step::Any(options) => options
                    .iter()
                    .fold(false, |empty, option| self.of(option, classes) | empty),
                Step::Maybe(options) => {
                    for option in options {
                        self.of(option, classes);
                    }
                    true
                }
            };
            if !may_be_empty {
                return false;
            }
        }
        true
    }
}

fn steps(pieces: &[Piece], phrases: &Phrases) -> Vec<Step> {
    pieces.iter().map(|piece| step(piece, phrases)).collect()
}

fn step(piece: &Piece, phrases: &Phrases) -> Step {
    let all = |options: &[Vec<Piece>]| {
        options
            .iter()
            .map(|option| steps(option, phrases))
            .collect()
    };
    match piece {
        Piece::Word(word, any_form) => Step::Words(ids(word, *any_form, &phrases.words)),
        Piece::Class(name) => Step::Class(
            phrases
                .classes
                .position(name)
                .expect("classes were checked"),
        ),
        Piece::Number(sort) => Step::Number(sort.clone()),
        Piece::Gap => Step::Gap,
        Piece::Begin => Step::Begin,
        Piece::End => Step::End,
        Piece::Maybe(options) => Step::Maybe(all(options)),
        Piece::Any(options) => merged(all(options)),
    }
}

/// Alternatives that are single words become one step, tried after the longer ones.
fn merged(options: Vec<Vec<Step>>) -> Step {
    let (single, mut longer): (Vec<_>, Vec<_>) = options
        .into_iter()
        .partition(|option| matches!(option.as_slice(), [Step::Words(_)]));
    let mut words: Vec<WordId> = Vec::new();
    for step in single.into_iter().flatten() {
        if let Step::Words(some) = step {
            words.extend(some);
        }
    }
    words.sort_unstable();
    words.dedup();
    if longer.is_empty() {
        return Step::Words(words);
    }
    if !words.is_empty() {
        longer.push(vec![Step::Words(words)]);
    }
    Step::Any(longer)
}

fn ids(word: &str, any_form: bool, words: &Vocabulary) -> Vec<WordId> {
    let forms = if any_form {
        inflect::forms(word)
    } else {
        vec![word.to_owned()]
    };
    let mut ids: Vec<WordId> = forms.iter().filter_map(|form| words.find(form)).collect();
    ids.sort_unstable();
    ids
}

/// The members of every class, spelt out.
pub(super) type Members<'a> = BTreeMap<String, BTreeSet<Vec<Cow<'a, str>>>>;

/// The tree of all class members.
pub(super) fn tree(members: &Members<'_>, words: &Vocabulary) -> Classes {
    let mut classes = Classes::new(members.keys().cloned().collect(), words.len());
    for (name, members) in members {
        let class = classes.position(name).expect("just named");
        for member in members.iter().filter(|member| !member.is_empty()) {
            let ids: Vec<WordId> = member.iter().filter_map(|word| words.find(word)).collect();
            classes.insert(class, &ids);
        }
    }
    classes
}

/// Classes named anywhere in a sequence.
pub(super) fn class_names(pieces: &[Piece]) -> Vec<String> {
    let mut names = Vec::new();
    for piece in pieces {
        match piece {
            Piece::Class(name) => names.push(name.clone()),
            Piece::Any(options) | Piece::Maybe(options) => {
                names.extend(options.iter().flat_map(|option| class_names(option)));
            }
            Piece::Word(..) | Piece::Number(_) | Piece::Gap | Piece::Begin | Piece::End => {}
        }
    }
    names
}

/// Words in all their forms, wherever they stand in a sequence.
pub(super) fn collect_words(pieces: &[Piece], words: &mut Gathered) {
    for piece in pieces {
        match piece {
            Piece::Word(word, true) => inflect::forms(word).iter().for_each(|form| words.add(form)),
            Piece::Word(word, false) => words.add(word),
            Piece::Any(options) | Piece::Maybe(options) => {
                for option in options {
                    collect_words(option, words);
                }
            }
            Piece::Class(_) | Piece::Number(_) | Piece::Gap | Piece::Begin | Piece::End => {}
        }
    }
}

/// The words of plain text, as they are compared.
pub(super) fn split_words(text: &str) -> impl Iterator<Item = String> {
    text.split(|c: char| !c.is_alphanumeric() && c != '\'')
        .filter(|word| word.chars().any(char::is_alphabetic))
        .map(pattern::plain)
}
