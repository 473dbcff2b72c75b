//! A reviewed conversation kept as a test: what the rider said, and what should come of it.

use super::came::Came;
use super::replay::{Change, MOVED, Said, changes, play};
use crate::conversation::event::{Incoming, Terms};
use crate::knowledge::Knowledge;
use crate::knowledge::id::{FaultId, KitId, PartId, SystemId};
use crate::reply::Suspect;
use serde::{Deserialize, Serialize};

/// A case, as it stands in a file of JSON.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// What it is about, in a sentence, and that it is invented or whose leave there is.
    pub about: String,
    /// The fuel system, if the channel knew it.
    pub system: Option<SystemId>,
    /// What was at hand, if the channel knew it.
    pub kit: Option<Vec<KitId>>,
    /// Minutes until the rider usually answered.
    pub round_trip_minutes: f64,
    /// The invented demo bike whose sheet applies, if any.
    pub bike: Option<String>,
    /// What a volunteer says was wrong; none if nobody knows.
    pub confirmed: Option<Vec<FaultId>>,
    /// The greeting and the messages, each with what came of it.
    pub turns: Vec<Turn>,
    /// The likeliest faults at the end.
    pub suspects: Vec<Likely>,
}

/// A message with what came of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Turn {
    /// What the rider wrote.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
    /// What the rider picked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub choose: Option<String>,
    /// What came of it.
    pub came: Came,
}

/// A fault with its probability.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Likely {
    /// The fault.
    pub fault: FaultId,
    /// The part it is in.
    pub part: PartId,
    /// Its probability, to three places.
    pub probability: f64,
}

impl Case {
    /// A case out of what was said.
    #[must_use]
    pub fn of(about: &str, said: &Said, confirmed: Option<Vec<FaultId>>) -> Self {
        let rider = std::iter::once(None).chain(said.rider.iter().map(Some));
        let turns = rider.zip(&said.came).map(|(incoming, came)| {
            let (text, choose) = match incoming {
                Some(Incoming::Text(text)) => (Some(text.clone()), None),
                Some(Incoming::Choose(id)) => (None, Some(id.clone())),
                None => (None, None),
            };
            Turn {
                text,
                choose,
                came: came.clone(),
            }
        });
        Self {
            about: about.to_owned(),
            system: said.terms.system.clone(),
            kit: said.terms.kit.clone(),
            round_trip_minutes: said.terms.round_trip_minutes,
            bike: said.terms.bike.clone(),
            confirmed,
            turns: turns.collect(),
            suspects: said.suspects.iter().map(likely).collect(),
        }
    }

    /// What was said in it.
    #[must_use]
    pub fn said(&self) -> Said {
        let rider = self.turns.iter().filter_map(|turn| {
            let text = turn.text.clone().map(Incoming::Text);
            text.or_else(|| turn.choose.clone().map(Incoming::Choose))
        });
        Said {
            terms: Terms {
                system: self.system.clone(),
                kit: self.kit.clone(),
                round_trip_minutes: self.round_trip_minutes,
                bike: self.bike.clone(),
                knowledge: String::new(),
            },
            rider: rider.collect(),
            came: self.turns.iter().map(|turn| turn.came.clone()).collect(),
            suspects: self.suspects.iter().map(suspect).collect(),
        }
    }

    /// What comes out otherwise under this knowledge.
    #[must_use]
    pub fn changes(&self, knowledge: &Knowledge) -> Vec<Change> {
        const { assert!(MOVED > 0.001, "three places tell what moved") };
        let was = self.said();
        changes(&was, &was.again(knowledge))
    }

    /// The same case as it comes out under this knowledge.
    #[must_use]
    pub fn renewed(&self, knowledge: &Knowledge) -> Self {
        let said = self.said();
        let said = play(&said.terms, &said.rider, knowledge);
        Self::of(&self.about, &said, self.confirmed.clone())
    }

    /// Reads a case.
    ///
    /// # Errors
    /// Where and why the text is no case.
    pub fn read(text: &str) -> Result<Self, String> {
        let case: Self = serde_json::from_str(text).map_err(|error| error.to_string())?;
        if case.turns.len() < 2 {
            return Err("it has no message of a rider; give at least one".to_owned());
        }
        Ok(case)
    }

    /// The text of a case.
    ///
    /// # Panics
    /// Never: a case has no maps and no numbers that JSON cannot hold.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = serde_json::to_string_pretty(self).expect("a case has a stored form");
        text.push('\n');
        text
    }
}

fn likely(suspect: &Suspect) -> Likely {
    Likely {
        fault: suspect.fault.clone(),
        part: suspect.part.clone(),
        probability: (suspect.probability * 1000.0).round() / 1000.0,
    }
}

fn suspect(likely: &Likely) -> Suspect {
    Suspect {
        fault: likely.fault.clone(),
        part: likely.part.clone(),
        probability: likely.probability,
    }
}
