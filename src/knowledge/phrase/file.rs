//! The shape of the phrase files: what may stand in them, strictly.

use super::meaning::{AnswerWord, AssentWord, CircumstanceWord, Cue, DisplayWord, Role};
use crate::quantity::Kind;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// A phrase with its place in the file.
pub type Said = Vec<Spanned<String>>;

/// One phrase file: any mix of these tables.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct File {
    /// Synonym classes: name, and members joined by `|`.
    pub class: BTreeMap<String, Spanned<String>>,
    /// Words that must be spelt as they are, and words that are right as they are and mean nothing here.
    pub spelling: Spelling,
    /// Complaints.
    pub symptom: Vec<Symptom>,
    /// Facts of what happened before.
    pub history: Vec<Named<String>>,
    /// Results of checks, said in more ways than stand beside the check.
    pub outcome: Vec<Named<String>>,
    /// Dangers.
    pub hazard: Vec<HazardPhrases>,
    /// Questions about dangers.
    pub asked: Vec<Named<String>>,
    /// Fuel systems.
    pub system: Vec<Named<String>>,
    /// Things a rider may have.
    pub kit: Vec<Named<String>>,
    /// What may be asked of the conversation.
    pub request: Vec<Named<String>>,
    /// Conditions of safe work.
    pub condition: Vec<ConditionSaid>,
    /// What a yes is worth.
    pub assent: Vec<Named<AssentWord>>,
    /// Plain answers.
    pub answer: Vec<Named<AnswerWord>>,
    /// Displays that are no number.
    pub display: Vec<Named<DisplayWord>>,
    /// How a reading was taken.
    pub circumstance: Vec<Named<CircumstanceWord>>,
    /// What a number is there for.
    pub role: Vec<Named<Role>>,
    /// How what stands near is meant.
    pub cue: Vec<CueSaid>,
    /// What a reading may belong to.
    pub thing: Vec<ThingSaid>,
    /// Units.
    pub unit: Vec<UnitSaid>,
    /// Number words; in one file only.
    pub number: Option<NumberSaid>,
}

/// Words the spelling correction must leave alone.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Spelling {
    /// Never arrived at by correction.
    pub guarded: Vec<String>,
    /// Never corrected; blanks between words.
    pub right: String,
    /// Frequent slips too far from the word for correction: slip, word.
    pub slips: BTreeMap<String, String>,
}

/// A name and how it is said.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Named<T> {
    /// Name.
    pub id: T,
    /// Phrases.
    pub said: Said,
}

/// A complaint and how it is said.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Symptom {
    /// Name.
    pub id: String,
    /// Phrases that report it.
    #[serde(default)]
    pub said: Said,
    /// Phrases that report it unless one of `unless` is reported too.
    #[serde(default)]
    pub weak: Said,
    /// More exact complaints.
    #[serde(default)]
    pub unless: Vec<String>,
    /// Phrases that say it is not so.
    #[serde(default)]
    pub denied: Said,
    /// Whether a denial of it says nothing, since its phrases speak of a lack or a condition.
    #[serde(default)]
    pub only_present: bool,
    /// Complaints that say as much as a denial of this one, which is then left out.
    #[serde(default)]
    pub implied_by: Vec<String>,
}

/// A condition of safe work and how riders say that it holds, or not.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConditionSaid {
    /// Name of the gate.
    pub id: String,
    /// Phrases that say it holds.
    pub said: Said,
    /// Phrases that say it does not.
    pub denied: Said,
}

/// A danger and how it is said.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HazardPhrases {
    /// Name.
    pub id: String,
    /// Whether it counts whoever it befalls: a friend who smokes by the tank is a danger too.
    #[serde(default)]
    pub anyone: bool,
    /// Phrases.
    pub said: Said,
}

/// A cue and how it is said.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CueSaid {
    /// Which.
    pub id: Cue,
    /// How firmly a thing is said beside it, below 1 for a hedge.
    #[serde(default = "firm")]
    pub strength: f64,
    /// Phrases.
    pub said: Said,
}

fn firm() -> f64 {
    1.0
}

/// A thing a reading may belong to.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ThingSaid {
    /// Short name, as in `of`.
    pub id: String,
    /// What a number without a unit beside it is.
    #[serde(default)]
    pub kind: Option<Kind>,
    /// Whether it says only under which condition was measured.
    #[serde(default)]
    pub state: bool,
    /// Phrases.
    pub said: Said,
}

/// A unit and how riders write it.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UnitSaid {
    /// What it measures.
    pub kind: Kind,
    /// Symbol, as the reply shows it.
    pub symbol: String,
    /// Subtracted first.
    #[serde(default)]
    pub minus: f64,
    /// Then multiplied by this.
    #[serde(default = "firm")]
    pub times: f64,
    /// Then divided by this.
    #[serde(default = "firm")]
    pub over: f64,
    /// Written so in any case.
    #[serde(default)]
    pub said: Vec<String>,
    /// Written exactly so.
    #[serde(default)]
    pub exact: Vec<String>,
    /// Letters that are only this unit when nothing stands between them and the number.
    #[serde(default)]
    pub tight: Vec<String>,
    /// Letters that stand for its decimal point: the `R` of `4R7`.
    #[serde(default)]
    pub letters: Vec<char>,
    /// Taken for a number without a unit where the kind is known and the number lies in this range.
    #[serde(default)]
    pub bare: Option<[f64; 2]>,
    /// Whether it counts only where a number of its kind is asked for: "degrees", "pounds".
    #[serde(default)]
    pub only_asked: bool,
    /// Symbol of another unit that goes by the same name: the imperial pint.
    #[serde(default)]
    pub twin: Option<String>,
    /// Where the factor comes from.
    pub source: String,
}

/// Number words.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NumberSaid {
    /// Zero to nineteen.
    pub small: BTreeMap<String, f64>,
    /// Twenty to ninety.
    pub tens: BTreeMap<String, f64>,
    /// Hundred, thousand.
    pub scale: BTreeMap<String, f64>,
    /// The letter for a thousand.
    pub kilo: BTreeMap<String, f64>,
    /// Half, quarter.
    pub fraction: BTreeMap<String, f64>,
    /// A couple, a dozen.
    pub group: BTreeMap<String, f64>,
    /// Which of several is meant: first, b, 3rd.
    pub order: BTreeMap<String, f64>,
    /// Words for the decimal point.
    pub point: Vec<String>,
    /// Words that join.
    pub and: Vec<String>,
    /// Articles.
    pub article: Vec<String>,
    /// Words for a minus sign.
    pub minus: Vec<String>,
    /// Words after a number that was taken off.
    pub from: Vec<String>,
    /// What has a minus of its own: after it the word names a terminal.
    pub poled: Vec<String>,
    /// Words for zero before the point only.
    pub oh: Vec<String>,
    /// Words for tenths that were not read: "8 point something".
    pub vague: Vec<String>,
}
