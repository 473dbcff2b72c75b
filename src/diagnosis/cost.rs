//! What a step costs in minutes: hands-on time, openings, round trips, parts, proof.

use crate::knowledge::model::{FaultIx, Model, ObservationIx, OpeningIx, Repair};

/// What a step costs beyond what the model says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// Minutes until a message is answered: none at a terminal, hours in a forum.
    pub round_trip_minutes: f64,
    /// Minutes to read a message, understand it and answer it.
    pub message_minutes: f64,
    /// What it is worth, in minutes, to answer from memory or by a look in place of setting about the
    /// bike: gloves, the fire extinguisher at hand, care.
    pub discomfort_minutes: f64,
    /// Minutes to find out after a repair whether the complaint is gone.
    pub proof_minutes: f64,
    /// What a repair of something that was not broken costs on top of its own minutes and parts:
    /// the wait for a part bought on a guess, work undone, and the rider's trust.
    pub wrong_repair_minutes: f64,
    /// What handing over costs on top of the model's figure for each fault that is left: the rider
    /// came for an answer. By fault, so that finding one of two is worth something.
    pub giving_up_minutes: f64,
}

impl Default for Terms {
    /// At a terminal, with two minutes for a proof (common practice, no source).
    fn default() -> Self {
        Self {
            round_trip_minutes: 0.0,
            message_minutes: 0.0,
            discomfort_minutes: 0.0,
            proof_minutes: 2.0,
            wrong_repair_minutes: WRONG_REPAIR_MINUTES,
            giving_up_minutes: GIVING_UP_MINUTES,
        }
    }
}

impl Terms {
    /// Hands-on minutes, openings, parts and proof only, at a terminal.
    #[must_use]
    pub fn bare() -> Self {
        Self {
            wrong_repair_minutes: 0.0,
            giving_up_minutes: 0.0,
            ..Self::default()
        }
    }
}

/// The usual [`Terms::wrong_repair_minutes`].
///
/// Bare minutes jump to repairs on a suspicion of two in three where parts are cheap: on invented
/// fuel systems with honest riders the first repair was then the right one in 83 of 100. With 60
/// minutes it was in 95, with 120 in 97 or 98, and more than 120 bought nothing but minutes.
pub const WRONG_REPAIR_MINUTES: f64 = 120.0;

/// The usual [`Terms::giving_up_minutes`].
///
/// Were only wrong repairs dearer, handing over would look cheap: where not every fault can be
/// checked for, the planner then gave up on two riders in three. Twice a wrong repair's price keeps
/// a fair guess better than none.
pub const GIVING_UP_MINUTES: f64 = 240.0;

/// A set of openings; at most 128 of them in a model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Hash)]
pub struct Openings(u128);

impl Openings {
    /// Every opening there is.
    pub const ALL: Self = Self(u128::MAX);

    /// The most openings a model may have.
    pub const MOST: usize = 128;

    /// These openings and all that must be open before them.
    ///
    /// # Panics
    /// For an opening at or beyond [`Openings::MOST`].
    #[must_use]
    pub fn with_parents(model: &Model, openings: &[OpeningIx]) -> Self {
        let mut set = 0;
        for opening in openings {
            let mut next = Some(*opening);
            while let Some(opening) = next {
                assert!(
                    opening.at() < Self::MOST,
                    "a model has at most {} openings",
                    Self::MOST
                );
                let bit = 1 << opening.at();
                next = if set & bit == 0 {
                    model.openings[opening.at()].parent
                } else {
                    None
                };
                set |= bit;
            }
        }
        Self(set)
    }

    /// All that is in one or the other.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// What is here and not there.
    #[must_use]
    pub fn but_not(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// The openings, by position.
    pub fn iter(self) -> impl Iterator<Item = OpeningIx> {
        let mut left = self.0;
        std::iter::from_fn(move || {
            let at = left.trailing_zeros() as usize;
            left &= left.checked_sub(1)?;
            Some(OpeningIx::from(at))
        })
    }
}

/// The price of every step of one model, on given terms.
#[derive(Debug, Clone)]
pub struct Prices<'a> {
    /// Whose steps.
    pub model: &'a Model,
    /// On which terms.
    pub terms: Terms,
    /// By opening: minutes to open it and to close it at the end.
    access: Vec<f64>,
    /// By fault: minutes for repair and proof with everything open.
    bare_repair: Vec<f64>,
    /// By fault: the chance that its repair succeeds.
    success: Vec<f64>,
    observation_needs: Vec<Openings>,
    repair_needs: Vec<Openings>,
}

impl<'a> Prices<'a> {
    /// Works the openings out once.
    #[must_use]
    pub fn of(model: &'a Model, terms: Terms) -> Self {
        let needs = |openings: &[OpeningIx]| Openings::with_parents(model, openings);
        Self {
            model,
            terms,
            access: model
                .openings
                .iter()
                .map(|o| o.open_minutes + o.close_minutes)
                .collect(),
            bare_repair: model
                .faults
                .iter()
                .map(|fault| bare_repair(model, &fault.repair, &terms))
                .collect(),
            success: model.faults.iter().map(|f| f.repair.success).collect(),
            observation_needs: model
                .observations
                .iter()
                .map(|o| needs(&o.openings))
                .collect(),
            repair_needs: model
                .faults
                .iter()
                .map(|f| needs(&f.repair.openings))
                .collect(),
        }
    }

    /// The chance that the repair of a fault succeeds.
    #[must_use]
    pub fn success(&self, fault: usize) -> f64 {
        self.success[fault]
    }

    /// All openings an observation needs, parents included.
    #[must_use]
    pub fn observation_needs(&self, observation: ObservationIx) -> Openings {
        self.observation_needs[observation.at()]
    }

    /// All openings a repair needs, parents included.
    #[must_use]
    pub fn repair_needs(&self, fault: FaultIx) -> Openings {
        self.repair_needs[fault.at()]
    }

    /// Minutes to open what is not open yet and to close it at the end.
    #[must_use]
    pub fn access(&self, needs: Openings, open: Openings) -> f64 {
        needs
            .but_not(open)
            .iter()
            .map(|opening| self.access[opening.at()])
            .sum()
    }

    /// Minutes for observations asked for in one message, their openings shared, with the messages that
    /// confirm their conditions.
    #[must_use]
    pub fn observing(&self, observations: &[ObservationIx], open: Openings) -> f64 {
        let hands_on: f64 = observations
            .iter()
            .map(|o| self.model.observations[o.at()].minutes)
            .sum();
        let needs = observations.iter().fold(Openings::default(), |all, o| {
            all.and(self.observation_needs(*o))
        });
        let questions = observations
            .iter()
            .map(|o| self.model.observations[o.at()].questions)
            .max();
        let messages = 1.0 + f64::from(questions.unwrap_or(0));
        let hands = |o: &ObservationIx| !self.model.observations[o.at()].gates.is_empty();
        let discomfort = if observations.iter().any(hands) {
            self.terms.discomfort_minutes
        } else {
            0.0
        };
        messages * (self.terms.round_trip_minutes + self.terms.message_minutes)
            + hands_on
            + discomfort
            + self.access(needs, open)
    }

    /// Minutes' worth of handing over, times the probability `mass` of coming to that, with so many
    /// `faults` expected to be left, times the same. A shop keeps the rider waiting too: where messages take
    /// hours, as long as several of them, or every slow conversation would end at the shop's door.
    #[must_use]
    pub fn handing_over(&self, mass: f64, faults: f64) -> f64 {
        /// Messages that a shop's waiting time is counted as (common practice, no source).
        const MESSAGES: f64 = 6.0;
        let waiting = MESSAGES * self.terms.round_trip_minutes;
        mass * (self.model.handover_minutes + waiting) + faults * self.terms.giving_up_minutes
    }

    /// Minutes for a repair and for finding out whether it helped: one message each.
    #[must_use]
    pub fn repairing(&self, fault: FaultIx, open: Openings) -> f64 {
        self.bare_repair[fault.at()] + self.access(self.repair_needs[fault.at()], open)
    }
}

fn bare_repair(model: &Model, repair: &Repair, terms: &Terms) -> f64 {
    let parts = repair.parts_cost * model.minutes_per_cost_unit;
    let message = terms.round_trip_minutes + terms.message_minutes;
    message + repair.minutes + parts + message + terms.proof_minutes
}
