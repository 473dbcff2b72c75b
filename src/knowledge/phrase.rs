//! The words riders use, compiled from `knowledge/phrases/` to tables the reader walks.
//!
//! A phrase is written in a small notation, the same in the phrase files and in the `said` of an
//! outcome:
//!
//! | written | matches |
//! | --- | --- |
//! | `fuel pump` | these words, one after the other |
//! | `30 amp`, `13.8`, `24v` | digits stand for just that number as typed |
//! | `leak~` | the word in any form: leak, leaks, leaked, leaking |
//! | `(stall\|die)~` | one of these, in any form |
//! | `blown\|burnt\|melted` | one of these |
//! | `(ran out\|run dry)` | one of these, each of several words |
//! | `[the\|my]` | this or nothing |
//! | `<tap>` | any member of the class `tap` of any phrase file |
//! | `#` | a number, with its unit if it has one |
//! | `#duration` | a number with a unit of that kind |
//! | `#min` | a number of minutes; `#s` and `#h` likewise |
//! | `#more`, `#less` | a number greater, or smaller, than the one before it in the phrase |
//! | `..` | up to four words of any kind, or none |
//! | `!` | the end of the clause, past any small words |
//! | `<die> & <hot>` | both in one sentence, in either order |
//!
//! Small words such as "the" or "really" (the class `filler`) may stand between any two words of a
//! phrase. A "not" that a phrase does not itself contain turns it round, so phrases are written
//! without one wherever the thing said is not itself a lack.
//!
//! ```
//! use floatbowl::knowledge::phrase::pattern;
//! assert!(pattern::parse("<fuse> .. blown|burnt|melted").is_ok());
//! assert!(pattern::parse("<die> & (after #duration|when hot)").is_ok());
//! let problem = pattern::parse("(ran out|run dry").unwrap_err();
//! assert_eq!(problem.to_string(), "`(` at byte 0 is never closed; write it as in `(ran out|run dry)`");
//! ```

mod build;
pub mod class;
mod compile;
pub mod file;
mod inflect;
pub mod meaning;
mod need;
pub mod pattern;
mod statement;
mod unit;
pub mod vocabulary;

pub use build::{OutcomePhrases, PhraseFile};
pub use class::Classes;
pub use meaning::{AnswerWord, AssentWord, CircumstanceWord, Cue, DisplayWord, Meaning, Role};
pub use need::Needs;
pub use unit::{Form as UnitForm, NumberWord, NumberWords, Unit, Units};
pub use vocabulary::{Vocabulary, WordId};

use super::classifier::Classifier;
use super::network::Network;
use super::problem::Problem;
use super::recurrent::Recurrent;
use crate::quantity::Kind;
use pattern::Step;
use std::collections::{BTreeMap, BTreeSet};

/// Position of a sequence in [`Phrases::sequences`].
pub type SequenceIx = u32;

/// All phrase knowledge, compiled and immutable.
#[derive(Debug, Clone)]
pub struct Phrases {
    /// Every word that stands in a phrase, and how to find it when it is misspelt.
    pub words: Vocabulary,
    /// Synonym classes.
    pub classes: Classes,
    /// Unbroken runs of steps; the same run in two phrases is stored once.
    pub sequences: Vec<Vec<Step>>,
    /// What each sequence cannot do without.
    pub needs: Needs,
    /// By word: the sequences that may begin with it.
    pub starts: Vec<Vec<SequenceIx>>,
    /// Sequences that may begin with a number.
    pub number_starts: Vec<SequenceIx>,
    /// What is said.
    pub phrases: Vec<Phrase>,
    /// By sequence: the phrases it is the first part of.
    pub heads: Vec<Vec<u32>>,
    /// Units and how riders write them.
    pub units: Units,
    /// Number words.
    pub numbers: NumberWords,
    /// Things a reading may belong to: name, and the quantity it is usually measured in.
    pub things: Vec<Thing>,
    /// Weak complaints give way where one of these is reported.
    pub yields: BTreeMap<String, Vec<String>>,
    /// The denial of a complaint is left out where one of these is reported.
    pub implied: BTreeMap<String, Vec<String>>,
    /// Complaints whose denial says nothing.
    pub only_present: BTreeSet<String>,
    /// By outcome: the words of its button, as word ids.
    pub labels: BTreeMap<String, Vec<WordId>>,
    /// By outcome: the plain answer that stands for it.
    pub answers: BTreeMap<String, super::schema::YesNo>,
    /// The files that phrases stand in.
    pub files: Vec<String>,
    /// What is told by all words of a message together.
    pub classifier: Classifier,
    /// The same by a few of its words in a row.
    pub network: Network,
    /// Which of them speak for what, after all that was read before.
    pub recurrent: Recurrent,
    /// Which numbers are readings, by what stands around them.
    pub numbered: Classifier,
    /// The same after all that was read before.
    pub numbered_along: Recurrent,
}

/// A thing a reading may belong to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thing {
    /// Short name, as in `of`.
    pub id: String,
    /// What a number without a unit beside it is.
    pub kind: Option<Kind>,
    /// Whether it is where the measuring is done, not what is measured.
    pub state: bool,
}

/// Parts that must stand together, in one sentence or close by, and what they mean together.
#[derive(Debug, Clone, PartialEq)]
pub struct Phrase {
    /// The parts; the first decides where it is said.
    pub parts: Vec<SequenceIx>,
    /// Whether its further parts may stand in one of the two sentences before.
    pub looks_back: bool,
    /// What it says.
    pub meaning: Meaning,
    /// Strength it is said with; below 1 only for hedging cues.
    pub strength: f64,
    /// The pattern as it is written.
    pub written: String,
    /// The file it stands in, by position in [`Phrases::files`].
    pub file: usize,
}

/// Every id the phrases mention, for the loader to check against the rest of the knowledge.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ids {
    /// Complaints.
    pub symptoms: BTreeSet<String>,
    /// Facts of what happened before.
    pub history: BTreeSet<String>,
    /// Dangers.
    pub hazards: BTreeSet<String>,
    /// Things a rider may have.
    pub kit: BTreeSet<String>,
    /// What may be asked of the conversation.
    pub requests: BTreeSet<String>,
    /// Fuel systems.
    pub systems: BTreeSet<String>,
    /// Conditions of safe work.
    pub gates: BTreeSet<String>,
    /// Things that are measured.
    pub things: BTreeSet<String>,
}

impl Phrases {
    /// Compiles phrase files and the ways outcomes are said.
    ///
    /// # Errors
    /// Every problem found: a file that does not parse, an unknown class, a pattern that breaks the
    /// notation, a phrase that two meanings of one sort claim.
    pub fn compile(
        files: &[PhraseFile],
        outcomes: &[OutcomePhrases],
    ) -> Result<Self, Vec<Problem>> {
        build::compile(files, outcomes)
    }

    /// Every id the phrases mention.
    #[must_use]
    pub fn ids(&self) -> Ids {
        let mut ids = Ids::default();
        for phrase in &self.phrases {
            let (set, id) = match &phrase.meaning {
                Meaning::Symptom { id, .. } => (&mut ids.symptoms, id.as_str()),
                Meaning::History(id) => (&mut ids.history, id.as_str()),
                Meaning::Hazard { id, .. } | Meaning::AskedAbout(id) => {
                    (&mut ids.hazards, id.as_str())
                }
                Meaning::Kit(id) => (&mut ids.kit, id.as_str()),
                Meaning::Request(id) => (&mut ids.requests, id.as_str()),
                Meaning::System(id) => (&mut ids.systems, id.as_str()),
                Meaning::Condition { gate, .. } => (&mut ids.gates, gate.as_str()),
                Meaning::Thing(at) => (&mut ids.things, self.things[*at].id.as_str()),
                _ => continue,
            };
            set.insert(id.to_owned());
        }
        ids
    }
}
