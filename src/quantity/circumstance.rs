//! What besides the meter decides how sure a reading is: a battery's rest, a winding's warmth, a load.
//!
//! What is not known is a doubt of its own, and is asked for only where the answer would change the
//! verdict.

use super::battery::{Charge, Make, Rested};
use super::circuit::{no_current, unloaded};
use super::copper::Winding;
use super::doubt::Doubt;
use super::judgement::{Judgement, Measured, judge};
use super::si::{Seconds, Volts};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is measured, where more than the meter decides what a number says.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Nature {
    /// A battery that has rested: charge not settled yet adds to its voltage.
    RestedBattery,
    /// A copper winding: it has more resistance when warm.
    Copper,
    /// A voltage that counts only with its load switched on.
    UnderLoad,
    /// A voltage lost along a path, which shows only while current flows.
    Drop,
    /// The fuel that arrives, of which an engine needs so much for its power.
    FuelFlow,
}

/// How warm a winding was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// In degrees Celsius.
    pub celsius: f64,
    /// How far off that may be, in kelvin.
    pub doubt: f64,
}

impl Warmth {
    /// As cool as the air in a garage or yard: 5 to 35 degC; common practice, no source.
    pub const AS_THE_AIR: Self = Self {
        celsius: 20.0,
        doubt: 15.0,
    };

    /// Warm from running: 35 to 85 degC; common practice, no source.
    pub const FROM_RUNNING: Self = Self {
        celsius: 60.0,
        doubt: 25.0,
    };

    /// As the rider read or felt it, within 5 K; common practice, no source.
    #[must_use]
    pub fn told(celsius: f64) -> Self {
        Self {
            celsius,
            doubt: 5.0,
        }
    }
}

/// How far a winding of unknown warmth may be from its spec's temperature, in kelvin; common
/// practice, no source.
const UNKNOWN_WARMTH: f64 = 30.0;

/// What the rider said about how a reading was taken; none where nothing was said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Circumstances {
    /// Seconds since the battery last was under charge or load.
    pub rest: Option<f64>,
    /// How warm the part was.
    pub warmth: Option<Warmth>,
    /// Whether the circuit was connected and switched on.
    pub loaded: Option<bool>,
    /// Whether the rider was asked for what is missing, and does not know.
    pub unsure: bool,
}

impl Circumstances {
    /// What was said here, and for the rest what was said before.
    #[must_use]
    pub fn or(self, before: Self) -> Self {
        Self {
            rest: self.rest.or(before.rest),
            warmth: self.warmth.or(before.warmth),
            loaded: self.loaded.or(before.loaded),
            unsure: self.unsure || before.unsure,
        }
    }
}

/// Something a verdict hangs on and nobody has said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Missing {
    /// How long the battery has rested.
    Rest,
    /// How warm the winding was.
    Warmth,
    /// Whether the circuit was on.
    Load,
    /// In what time a volume was caught.
    Time,
}

/// Eight hours: no rule found asks for a battery to rest longer before its surface charge is gone.
pub const LONG_REST: f64 = 8.0 * 3600.0;

/// A measurement with what is known about how it was taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken<'a> {
    /// The reading.
    pub measured: Measured<'a>,
    /// What is measured; none where only the meter counts.
    pub nature: Option<Nature>,
    /// The temperature its spec holds at, in degrees Celsius.
    pub spec_celsius: Option<f64>,
    /// What the rider said.
    pub under: Circumstances,
}

impl Taken<'_> {
    /// Judges it, and names what is missing where that would change the verdict.
    ///
    /// # Errors
    /// The doubt to put first.
    pub fn judge(&self) -> Result<(Judgement, Option<Missing>), Doubt> {
        let known = self.judged(self.under)?;
        let Some((missing, ideal)) = self.missing() else {
            return Ok((known, None));
        };
        let settled = self.judged(ideal)?;
        let matters = settled.verdict != known.verdict;
        Ok((known, matters.then_some(missing)))
    }

    /// Whether it was taken in a way that cannot answer the question.
    #[must_use]
    pub fn without_load(&self) -> bool {
        matches!(self.nature, Some(Nature::UnderLoad | Nature::Drop))
            && self.under.loaded == Some(false)
    }

    /// What was not said, and how it would be at its best.
    fn missing(&self) -> Option<(Missing, Circumstances)> {
        let under = self.under;
        if under.unsure {
            return None;
        }
        match self.nature? {
            Nature::RestedBattery if under.rest.is_none() => {
                let rest = Some(LONG_REST);
                Some((Missing::Rest, Circumstances { rest, ..under }))
            }
            Nature::Copper if under.warmth.is_none() => {
                let celsius = self.spec_celsius?;
                let warmth = Some(Warmth {
                    celsius,
                    doubt: 0.0,
                });
                Some((Missing::Warmth, Circumstances { warmth, ..under }))
            }
            Nature::UnderLoad | Nature::Drop if under.loaded.is_none() => {
                let loaded = Some(true);
                Some((Missing::Load, Circumstances { loaded, ..under }))
            }
            _ => None,
        }
    }

    fn judged(&self, under: Circumstances) -> Result<Judgement, Doubt> {
        let mut measured = self.measured.clone();
        let value = measured.raw.centre().unwrap_or(0.0);
        match self.nature {
            Some(Nature::RestedBattery) => measured.further.extend(rested(under).parts()),
            Some(Nature::Copper) => measured.winding = self.winding(under),
            Some(Nature::UnderLoad) if under.loaded != Some(true) => {
                measured.further.push(unloaded(Volts(value)));
            }
            Some(Nature::Drop) if under.loaded != Some(true) => measured.further.push(no_current()),
            Some(Nature::UnderLoad | Nature::Drop | Nature::FuelFlow) | None => {}
        }
        judge(&measured)
    }

    fn winding(&self, under: Circumstances) -> Option<Winding> {
        let spec_celsius = self.spec_celsius?;
        let warmth = under.warmth.unwrap_or(Warmth {
            celsius: spec_celsius,
            doubt: UNKNOWN_WARMTH,
        });
        Some(Winding {
            at_celsius: warmth.celsius,
            doubt: warmth.doubt,
            spec_celsius,
        })
    }
}

/// How full a battery of unknown make is, by a rest voltage in volts.
#[must_use]
pub fn charge(under: Circumstances, volts: f64) -> Charge {
    rested(under).charge(Volts(volts))
}

fn rested(under: Circumstances) -> Rested {
    Rested {
        make: Make::Unknown,
        rest: under.rest.map(Seconds),
        celsius: under.warmth.map(|warmth| warmth.celsius),
    }
}
