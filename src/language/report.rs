//! One line in and one line out: what `floatbowl interpret` reads and prints.

use super::interpretation::{Answer, Context, Expecting, Interpretation, Special};
use crate::knowledge::id::SystemId;
use crate::quantity::Kind;
use serde::{Deserialize, Serialize};

/// A line of input.
///
/// ```
/// use floatbowl::language::report::Line;
/// let line = Line::parse(r#"{"text": "3.4", "expecting": "resistance"}"#).unwrap();
/// assert_eq!(line.text, "3.4");
/// assert!(Line::parse(r#"{"txt": "3.4"}"#).is_err());
/// ```
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// The message.
    pub text: String,
    /// What the conversation was waiting for.
    #[serde(default)]
    pub expecting: Option<Expecting>,
    /// The rider's fuel system.
    #[serde(default)]
    pub system: Option<SystemId>,
}

impl Line {
    /// Reads a line.
    ///
    /// # Errors
    /// Where the line is no JSON object of this shape.
    pub fn parse(line: &str) -> Result<Self, serde_json::Error> {
        serde_json::from_str(line)
    }

    /// The context the message is read in.
    #[must_use]
    pub fn context(&self) -> Context {
        Context {
            expecting: self.expecting,
            offered: Vec::new(),
            system: self.system.clone(),
        }
    }
}

/// A line of output.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// Numbers reported.
    pub readings: Vec<ReadingLine>,
    /// Yes, no or unsure.
    pub answer: Option<Answer>,
    /// Results of observations.
    pub observations: Vec<ObservationLine>,
    /// Complaints.
    pub symptoms: Vec<SymptomLine>,
    /// What happened before.
    pub history: Vec<String>,
    /// The fuel system.
    pub system: Option<String>,
    /// Dangers.
    pub hazards: Vec<String>,
    /// What is asked of the conversation.
    pub requests: Vec<String>,
    /// A spec read out.
    pub spec: Option<SpecLine>,
    /// What is at hand or not.
    pub kit: Vec<KitLine>,
}

/// A reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingLine {
    /// What was measured.
    pub quantity: Kind,
    /// The number in `unit`.
    pub value: Option<f64>,
    /// Lower end.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Base unit of the quantity.
    pub unit: String,
    /// What it belongs to.
    pub of: Option<String>,
    /// A display that is no number.
    pub special: Option<Special>,
}

/// A result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ObservationLine {
    /// Which observation.
    pub id: String,
    /// What came of it.
    pub outcome: String,
}

/// A complaint.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SymptomLine {
    /// Which.
    pub id: String,
    /// Whether it is there.
    pub present: bool,
}

/// A spec.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpecLine {
    /// What is specified.
    pub quantity: Kind,
    /// Lower limit.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
}

/// Something the rider has or lacks.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KitLine {
    /// Which.
    pub id: String,
    /// Whether it is at hand.
    pub has: bool,
}

impl From<&Interpretation> for Report {
    fn from(found: &Interpretation) -> Self {
        let readings = found.readings.iter().map(|said| ReadingLine {
            quantity: said.what.quantity,
            value: said.what.value,
            low: said.what.low,
            high: said.what.high,
            unit: said.what.quantity.unit().to_owned(),
            of: said.what.of.clone(),
            special: said.what.special,
        });
        let observations = found.observations.iter().map(|said| ObservationLine {
            id: said.what.id.to_string(),
            outcome: said.what.outcome.to_string(),
        });
        let symptoms = found.symptoms.iter().map(|said| SymptomLine {
            id: said.what.id.to_string(),
            present: said.what.present,
        });
        let kit = found.kit.iter().map(|said| KitLine {
            id: said.what.id.to_string(),
            has: said.what.has,
        });
        Self {
            readings: readings.collect(),
            answer: found.answer.as_ref().map(|said| said.what),
            observations: observations.collect(),
            symptoms: symptoms.collect(),
            history: found
                .history
                .iter()
                .map(|said| said.what.to_string())
                .collect(),
            system: found.system.as_ref().map(|said| said.what.to_string()),
            hazards: found
                .hazards
                .iter()
                .map(|said| said.what.to_string())
                .collect(),
            requests: found
                .requests
                .iter()
                .map(|said| said.what.to_string())
                .collect(),
            spec: found.spec.as_ref().map(|said| SpecLine {
                quantity: said.what.quantity,
                low: said.what.low,
                high: said.what.high,
            }),
            kit: kit.collect(),
        }
    }
}
