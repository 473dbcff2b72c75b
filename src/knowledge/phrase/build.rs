//! Compiles phrase files: parse, collect the words, then turn every pattern into steps.

use super::class::Classes;
use super::compile::{Members, Sequences, class_names, collect_words, split_words, tree};
use super::file::{File, Named, Symptom};
use super::inflect;
use super::meaning::Meaning;
use super::pattern::{self, Piece};
use super::unit::{NumberWords, Units};
use super::vocabulary::{Gathered, Vocabulary};
use super::{Needs, Phrase, Phrases, SequenceIx, Thing, statement};
use crate::knowledge::classifier::Classifier;
use crate::knowledge::id::{ObservationId, OutcomeId};
use crate::knowledge::network::Network;
use crate::knowledge::problem::Problem;
use crate::knowledge::recurrent::Recurrent;
use crate::knowledge::schema::YesNo;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

mod outcome;

/// A phrase file as read.
#[derive(Debug, Clone)]
pub struct PhraseFile {
    /// Path within the knowledge folder.
    pub path: String,
    /// Its text.
    pub text: String,
}

/// How one outcome of an observation is said.
#[derive(Debug, Clone)]
pub struct OutcomePhrases {
    /// The file it stands in, for problems.
    pub path: String,
    /// The observation.
    pub observation: ObservationId,
    /// The outcome.
    pub outcome: OutcomeId,
    /// The plain answer that stands for it.
    pub answer: Option<YesNo>,
    /// Phrases.
    pub said: Vec<String>,
    /// Short answers to the question.
    pub short: Vec<String>,
    /// The words of its button.
    pub words: String,
}

/// Where a pattern stands.
#[derive(Debug, Clone)]
pub(super) struct Source {
    pub file: usize,
    pub span: Option<Range<usize>>,
}

/// A pattern not yet compiled.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub text: String,
    pub source: Source,
    pub meaning: Meaning,
    pub strength: f64,
}

type ClassTable = BTreeMap<String, (Vec<Vec<Piece>>, Source)>;

#[derive(Default)]
struct Builder {
    paths: Vec<String>,
    files: Vec<File>,
    classes: ClassTable,
    drafts: Vec<(Vec<Vec<Piece>>, Draft)>,
    things: Vec<Thing>,
    /// The `[[outcome]]` tables, each with the position of its file.
    told: Vec<(usize, Named<String>)>,
    problems: Vec<Problem>,
}

pub(super) fn compile(
    files: &[PhraseFile],
    outcomes: &[OutcomePhrases],
) -> Result<Phrases, Vec<Problem>> {
    let mut builder = Builder::default();
    for file in files {
        builder.read(file);
    }
    builder.read_outcomes(outcomes);
    builder.read_more_of_outcomes(outcomes);
    builder.check_classes();
    if !builder.problems.is_empty() {
        return Err(builder.problems);
    }
    let members = builder.members();
    let words = builder.vocabulary(&members, outcomes);
    let classes = tree(&members, &words);
    let mut phrases = builder.tables(words, classes, outcomes);
    builder.add_phrases(&mut phrases);
    if builder.problems.is_empty() {
        Ok(phrases)
    } else {
        Err(builder.problems)
    }
}

impl Builder {
    fn problem(&mut self, source: &Source, what: String, remedy: &str) {
        self.problems.push(Problem {
            file: self.paths[source.file].clone(),
            span: source.span.clone(),
            what,
            remedy: remedy.to_owned(),
        });
    }

    fn read(&mut self, file: &PhraseFile) {
        let at = self.paths.len();
        self.paths.push(file.path.clone());
        let parsed: File = match toml::from_str(&file.text) {
            Ok(parsed) => parsed,
            Err(error) => {
                let source = Source {
                    file: at,
                    span: error.span(),
                };
                self.problem(
                    &source,
                    error.message().to_owned(),
                    "Follow the tables of the other phrase files.",
                );
                return;
            }
        };
        for (name, text) in &parsed.class {
            let source = Source {
                file: at,
                span: Some(text.span()),
            };
            match pattern::parse_class(text.get_ref()) {
                Err(bad) => self.problem(&source, bad.to_string(), "Mend the class."),
                Ok(_) if self.classes.contains_key(name) => {
                    self.problem(
                        &source,
                        format!("The class `{name}` stands twice."),
                        "Join the two.",
                    );
                }
                Ok(members) => {
                    self.classes.insert(name.clone(), (members, source));
                }
            }
        }
        for draft in statement::drafts(&parsed, at, &mut self.things) {
            self.draft(draft);
        }
        let named = parsed.outcome.iter().cloned();
        self.told.extend(named.map(|named| (at, named)));
        self.files.push(parsed);
    }

    fn draft(&mut self, draft: Draft) {
        match pattern::parse(&draft.text.replace(pattern::BEFORE, "&")) {
            Ok(parts) => self.drafts.push((parts, draft)),
            Err(bad) => {
                let source = draft.source.clone();
                self.problem(
                    &source,
                    format!("`{}`: {bad}", draft.text),
                    "Mend the phrase.",
                );
            }
        }
    }

    /// Every class named exists, and none contains itself.
    fn check_classes(&mut self) {
        let mut wrong = Vec::new();
        for (parts, draft) in &self.drafts {
            for name in parts.iter().flat_map(|part| class_names(part)) {
                if !self.classes.contains_key(&name) {
                    wrong.push((
                        draft.source.clone(),
                        format!(
                            "`{}` names the class `{name}`, which is nowhere.",
                            draft.text
                        ),
                    ));
                }
            }
        }
        for (name, (members, source)) in &self.classes {
            for inner in members.iter().flat_map(|part| class_names(part)) {
                if !self.classes.contains_key(&inner) {
                    wrong.push((
                        source.clone(),
                        format!("The class `{name}` names the class `{inner}`, which is nowhere."),
                    ));
                } else if self.contains(&inner, name, 0) {
                    wrong.push((
                        source.clone(),
                        format!("The class `{name}` contains itself by way of `{inner}`."),
                    ));
                }
            }
        }
        for (source, what) in wrong {
            self.problem(
                &source,
                what,
                "Name a class that stands under [class] in a phrase file.",
            );
        }
    }

    fn contains(&self, outer: &str, name: &str, depth: usize) -> bool {
        let Some((members, _)) = self.classes.get(outer) else {
            return false;
        };
        outer == name
            || depth > self.classes.len()
            || members
                .iter()
                .flat_map(|part| class_names(part))
                .any(|inner| self.contains(&inner, name, depth + 1))
    }

    /// Every class with its members spelt out.
    fn members(&self) -> Members<'_> {
        let classes = self.classes.iter();
        classes
            .map(|(name, (members, _))| {
                let all = members.iter().flat_map(|member| self.spellings(member));
                (name.clone(), all.collect())
            })
            .collect()
    }

    /// Every run of plain words a sequence stands for; numbers and gaps cannot stand in a class.
    fn spellings<'a>(&'a self, pieces: &'a [Piece]) -> Vec<Vec<Cow<'a, str>>> {
        let mut all = vec![Vec::new()];
        for piece in pieces {
            let options: Vec<Vec<Cow<'a, str>>> = match piece {
                Piece::Word(word, false) => vec![vec![Cow::Borrowed(word.as_str())]],
                Piece::Word(word, true) => inflect::forms(word)
                    .into_iter()
                    .map(|form| vec![Cow::Owned(form)])
                    .collect(),
                Piece::Class(name) => self.classes[name]
                    .0
                    .iter()
                    .flat_map(|member| self.spellings(member))
                    .collect(),
                Piece::Any(options) => options
                    .iter()
                    .flat_map(|option| self.spellings(option))
                    .collect(),
                Piece::Maybe(options) => {
                    let some = options.iter().flat_map(|option| self.spellings(option));
                    some.chain([Vec::new()]).collect()
                }
                Piece::Number(_) | Piece::Gap | Piece::Begin | Piece::End => continue,
            };
            all = all
                .iter()
                .flat_map(|begun| options.iter().map(|more| [begun.as_slice(), more].concat()))
                .collect();
        }
        all
    }

    fn vocabulary(&self, members: &Members<'_>, outcomes: &[OutcomePhrases]) -> Vocabulary {
        let mut said = Gathered::default();
        let spelt = members.values().flatten().flatten();
        spelt.for_each(|word| said.add(word));
        self.drafts
            .iter()
            .flat_map(|(parts, _)| parts)
            .for_each(|part| collect_words(part, &mut said));
        let mut words = said.into_set();
        words.extend(
            outcomes
                .iter()
                .flat_map(|outcome| split_words(&outcome.words)),
        );
        let mut guarded = BTreeSet::new();
        for file in &self.files {
            guarded.extend(file.spelling.guarded.iter().cloned());
            let right: Vec<String> = split_words(&file.spelling.right)
                .filter(|word| !words.contains(word))
                .collect();
            guarded.extend(right.iter().cloned());
            words.extend(right);
            words.extend(file.spelling.slips.values().cloned());
            let said = file.unit.iter().flat_map(|unit| unit.said.iter());
            words.extend(said.flat_map(|text| split_words(text)));
            if let Some(number) = &file.number {
                words.extend(NumberWords::new(number).all().map(str::to_owned));
            }
        }
        let slips = self
            .files
            .iter()
            .flat_map(|file| file.spelling.slips.clone())
            .collect();
        Vocabulary::new(words, &guarded, slips)
    }

    fn tables(&self, words: Vocabulary, classes: Classes, outcomes: &[OutcomePhrases]) -> Phrases {
        let units: Vec<_> = self
            .files
            .iter()
            .flat_map(|file| file.unit.clone())
            .collect();
        let numbers = self.files.iter().find_map(|file| file.number.as_ref());
        let label = |outcome: &OutcomePhrases| {
            let ids = split_words(&outcome.words).filter_map(|word| words.find(&word));
            (outcome.outcome.as_str().to_owned(), ids.collect())
        };
        let answer =
            |outcome: &OutcomePhrases| Some((outcome.outcome.as_str().to_owned(), outcome.answer?));
        Phrases {
            labels: outcomes.iter().map(label).collect(),
            answers: outcomes.iter().filter_map(answer).collect(),
            files: self.paths.clone(),
            classifier: Classifier::default(),
            network: Network::default(),
            recurrent: Recurrent::default(),
            numbered: Classifier::default(),
            numbered_along: Recurrent::default(),
            needs: Needs::of(words.len()),
            starts: vec![Vec::new(); words.len()],
            words,
            classes,
            sequences: Vec::new(),
            number_starts: Vec::new(),
            phrases: Vec::new(),
            heads: Vec::new(),
            units: Units::new(&units),
            numbers: numbers.map(NumberWords::new).unwrap_or_default(),
            things: self.things.clone(),
            implied: self.complaints(|symptom| &symptom.implied_by),
            only_present: self
                .files
                .iter()
                .flat_map(|file| &file.symptom)
                .filter(|symptom| symptom.only_present)
                .map(|symptom| symptom.id.clone())
                .collect(),
            yields: self.complaints(|symptom| &symptom.unless),
        }
    }

    /// A list of each complaint, gathered from every place that speaks of it.
    fn complaints(&self, list: fn(&Symptom) -> &Vec<String>) -> BTreeMap<String, Vec<String>> {
        let mut gathered: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for symptom in self.files.iter().flat_map(|file| &file.symptom) {
            let all = gathered.entry(symptom.id.clone()).or_default();
            all.extend(list(symptom).iter().cloned());
        }
        gathered
    }

    fn add_phrases(&mut self, phrases: &mut Phrases) {
        let mut sequences = Sequences::default();
        let mut claims: BTreeMap<(Sort, Vec<SequenceIx>), usize> = BTreeMap::new();
        for (parts, draft) in std::mem::take(&mut self.drafts) {
            let parts: Vec<_> = parts
                .iter()
                .map(|pieces| sequences.position(pieces, phrases))
                .collect();
            let at = phrases.phrases.len();
            let first = *claims
                .entry((sort(&draft.meaning), parts.clone()))
                .or_insert(at);
            if let Some(other) = phrases.phrases.get(first)
                && other.meaning != draft.meaning
            {
                let what = format!("`{}` already stands for {:?}.", draft.text, other.meaning);
                self.problem(
                    &draft.source,
                    what,
                    "Take it from one of the two, or say more in one of them.",
                );
            }
            let head = u32::try_from(at).expect("fewer than 2^32 phrases");
            phrases.heads[parts[0] as usize].push(head);
            phrases.phrases.push(Phrase {
                parts,
                looks_back: draft.text.contains(pattern::BEFORE),
                meaning: draft.meaning,
                strength: draft.strength,
                written: draft.text,
                file: draft.source.file,
            });
        }
    }
}

/// What a phrase may be claimed for only once.
type Sort = (u8, Option<ObservationId>);

/// Meanings of one sort may not share a phrase; outcomes of different observations may, since the
/// question on the table tells them apart.
fn sort(meaning: &Meaning) -> Sort {
    let plain = match meaning {
        Meaning::Outcome(observation, _) => return (0, Some(observation.clone())),
        Meaning::Short(observation, _) => return (1, Some(observation.clone())),
        Meaning::Symptom { .. } => 2,
        Meaning::History(_) => 3,
        Meaning::Hazard { .. } => 4,
        Meaning::System(_) => 5,
        Meaning::Kit(_) => 6,
        Meaning::Request(_) => 7,
        Meaning::Circumstance(_) => 8,
        Meaning::Answer(_) => 9,
        Meaning::Condition { .. } => 10,
        Meaning::Assent(_) => 11,
        Meaning::Thing(_) => 12,
        Meaning::Display(_) => 13,
        Meaning::Role(_) => 14,
        Meaning::Cue(_) => 15,
        Meaning::AskedAbout(_) => 16,
    };
    (plain, None)
}
