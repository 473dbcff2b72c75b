//! One virtual rider: an answer to whatever is asked, now and then a wrong one.

use super::Plan;
use super::bike::Bike;
use super::slip::Slip;
use crate::conversation::event::Incoming;
use crate::knowledge::Knowledge;
use crate::knowledge::model::{FaultIx, ObservationIx, ObservationKind};
use crate::quantity::Kind;
use crate::reply::{Ask, Means, NextKind, Reply};
use fastrand::Rng;

/// A rider and the bike.
pub(super) struct Rider<'a> {
    knowledge: &'a Knowledge,
    /// The bike as it is now.
    pub(super) bike: Bike<'a>,
    /// What was wrong at the start.
    pub(super) faults: Vec<FaultIx>,
    slips: f64,
    /// Resistance of the meter's leads, in ohm.
    leads: f64,
    leads_told: bool,
    /// Whether the last number was a slip, so that a second look mends it.
    slipped: bool,
    chance: Rng,
}

impl<'a> Rider<'a> {
    pub(super) fn new(knowledge: &'a Knowledge, plan: &Plan, bike: Bike<'a>, seed: u64) -> Self {
        let mut chance = Rng::with_seed(seed);
        Self {
            knowledge,
            faults: bike.present.clone(),
            bike,
            slips: plan.slips,
            leads: 0.2 + 0.3 * chance.f64(),
            leads_told: false,
            slipped: false,
            chance,
        }
    }

    /// What the rider says to a reply.
    pub(super) fn answer(&mut self, reply: &Reply) -> Incoming {
        match reply.step.kind {
            NextKind::Ask if reply.step.id.as_deref() == Some("complaint") => self.complain(reply),
            NextKind::Ask if reply.step.id.as_deref() == Some("background") => self.remember(),
            NextKind::Observe => self.observe(reply),
            NextKind::Repair => self.repair(reply),
            NextKind::Prove => {
                let gone = self.bike.present.is_empty();
                choose(reply, &[if gone { Means::Yes } else { Means::No }])
            }
            _ => choose(reply, &[Means::Yes, Means::Done]),
        }
    }

    /// Says every complaint the bike shows, in the knowledge's own words.
    fn complain(&mut self, reply: &Reply) -> Incoming {
        let mut said = Vec::new();
        for at in self.of_kind(ObservationKind::Symptom) {
            let observation = &self.bike.model.observations[at.at()];
            let symptom = self.knowledge.symptoms.get(&observation.id);
            if self.bike.shows(at) == 0 && symptom.is_some_and(|symptom| symptom.complaint) {
                said.extend(symptom.map(|symptom| symptom.words.clone()));
            }
        }
        if said.is_empty() || reply.turn > 0 {
            choose(reply, &[Means::Unsure])
        } else {
            Incoming::Text(said.join(". "))
        }
    }

    fn remember(&mut self) -> Incoming {
        let happened = self
            .of_kind(ObservationKind::History)
            .into_iter()
            .find(|at| self.bike.shows(*at) == 0);
        match happened {
            Some(at) => {
                let id = &self.bike.model.observations[at.at()].id;
                Incoming::Choose(format!("{id}-yes"))
            }
            None => Incoming::Choose("no".to_owned()),
        }
    }

    fn of_kind(&self, kind: ObservationKind) -> Vec<ObservationIx> {
        let all = self.bike.model.observations.iter().enumerate();
        all.filter(|(_, seen)| seen.kind == kind)
            .map(|(at, _)| ObservationIx::from(at))
            .collect()
    }

    fn observe(&mut self, reply: &Reply) -> Incoming {
        let doubted = reply.choices.iter().any(|c| c.means == Means::Yes);
        if doubted && !self.slipped {
            return choose(reply, &[Means::Yes]);
        }
        if doubted {
            self.slipped = false;
            return choose(reply, &[Means::No]);
        }
        let ask = reply.asks.first();
        let at = ask.and_then(|ask| self.bike.model.observation(ask.observation.as_str()));
        let (Some(ask), Some(at)) = (ask, at) else {
            return choose(reply, &[Means::Unsure]);
        };
        let slips = self.chance.f64() < self.slips;
        let slip =
            slips.then(|| Slip::with(&self.bike.model.observations[at.at()], &mut self.chance));
        self.slipped = slips;
        if slip == Some(Slip::Unsure) {
            return choose(reply, &[Means::Unsure]);
        }
        let mut outcome = self.bike.shows(at);
        if slip == Some(Slip::Misheard) {
            let others = ask.outcomes.len();
            outcome = (outcome + 1 + self.chance.usize(..others - 1)) % others;
        }
        self.report(ask, (at, outcome), slip)
    }

    /// Numbers are typed, results picked.
    fn report(
        &mut self,
        ask: &Ask,
        (at, outcome): (ObservationIx, usize),
        slip: Option<Slip>,
    ) -> Incoming {
        let shown = &self.bike.model.observations[at.at()].outcomes[outcome];
        let measured = (ask.kind == ObservationKind::Measurement)
            .then_some(ask.quantity)
            .flatten();
        let Some(quantity) = measured else {
            return Incoming::Choose(shown.id.to_string());
        };
        let (low, high) = (shown.low, shown.high);
        match self.number(low, high) {
            Some(number) => Incoming::Text(self.typed(number, quantity, slip)),
            None => Incoming::Text("OL".to_owned()),
        }
    }

    /// A number as it stands on the meter; for the first resistance, that of the leads alone too.
    fn typed(&mut self, number: f64, quantity: Kind, slip: Option<Slip>) -> String {
        let unit = quantity.unit();
        let leads = if quantity == Kind::Resistance {
            self.leads
        } else {
            0.0
        };
        let shown = match slip {
            Some(Slip::WrongRange) if self.chance.bool() => 1000.0 * (number + leads),
            Some(Slip::WrongRange) => (number + leads) / 1000.0,
            Some(Slip::SwappedWires) => -number,
            _ => number + leads,
        };
        let tell_leads = leads > 0.0 && !self.leads_told && slip != Some(Slip::LeadsForgotten);
        if tell_leads {
            self.leads_told = true;
            format!("leads {leads:.2} {unit}, {shown:.2} {unit}")
        } else {
            format!("{shown:.2} {unit}")
        }
    }

    /// A number well inside an interval; none for an interval without bounds.
    fn number(&mut self, low: Option<f64>, high: Option<f64>) -> Option<f64> {
        let at = 0.25 + 0.5 * self.chance.f64();
        match (low, high) {
            (Some(low), Some(high)) => Some(low + at * (high - low)),
            (Some(low), None) => Some(low * (1.1 + 0.2 * at)),
            (None, Some(high)) => Some(high * (0.5 + 0.4 * at)),
            (None, None) => None,
        }
    }

    fn repair(&mut self, reply: &Reply) -> Incoming {
        let id = reply.step.id.as_deref();
        if let Some(fault) = id.and_then(|id| self.bike.model.fault(id)) {
            self.bike.repair(fault);
        }
        choose(reply, &[Means::Done])
    }
}

/// Picks the first choice with one of these meanings.
fn choose(reply: &Reply, means: &[Means]) -> Incoming {
    let fits = means
        .iter()
        .find_map(|means| reply.choices.iter().find(|choice| choice.means == *means));
    Incoming::Choose(fits.map_or_else(|| "stop".to_owned(), |choice| choice.id.clone()))
}
