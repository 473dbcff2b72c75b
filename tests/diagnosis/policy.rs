//! What a policy is expected to cost, over everything that may happen: no chance is drawn.

use floatbowl::diagnosis::cost::{Openings, Prices};
use floatbowl::diagnosis::doubt::doubting_repairs;
use floatbowl::diagnosis::{Belief, Choice, Depth, Finding, Situation, Terms};
use floatbowl::knowledge::model::{
    Cause, FaultIx, Model, Observation, ObservationIx, ObservationKind, OpeningIx, Outcome,
};

/// The model with a proof that never errs: it shows `gone` if and only if nothing is wrong.
pub fn with_proof(mut model: Model) -> (Model, ObservationIx) {
    let outcome = |id: &str| Outcome {
        id: id.into(),
        words: id.to_owned(),
        low: None,
        high: None,
    };
    let still_there = |at| Cause {
        fault: FaultIx::from(at),
        outcomes: vec![0.0, 1.0],
    };
    let causes = (0..model.faults.len()).map(still_there).collect();
    model.observations.push(Observation {
        id: "proof".into(),
        kind: ObservationKind::Proof,
        quantity: None,
        minutes: 0.0,
        openings: Vec::new(),
        kit: Vec::new(),
        gates: Vec::new(),
        questions: 0,
        outcomes: vec![outcome("gone"), outcome("still-there")],
        normal: vec![1.0, 0.0],
        causes,
    });
    let proof = ObservationIx::from(model.observations.len() - 1);
    (model, proof)
}

/// What is true, how probably, and what the policy knows of it.
#[derive(Clone)]
struct Node {
    /// Sets of faults present now, each with the probability of being here with it.
    weights: Vec<(Vec<FaultIx>, f64)>,
    findings: Vec<Finding>,
    open: Vec<OpeningIx>,
    observations: Vec<ObservationIx>,
    repairs: Vec<FaultIx>,
}

/// A policy on a model, on terms.
pub struct Trial<'a, P: Fn(&Situation) -> Choice> {
    pub model: &'a Model,
    pub proof: ObservationIx,
    pub terms: Terms,
    pub policy: P,
}

impl<P: Fn(&Situation) -> Choice> Trial<'_, P> {
    /// Expected minutes from the beginning to the end.
    pub fn minutes(&self) -> f64 {
        let belief = Belief::given(self.model, &[]);
        let all = ObservationIx::from(0)..self.proof;
        self.run(&Node {
            weights: belief.hypotheses(usize::MAX),
            findings: Vec::new(),
            open: Vec::new(),
            observations: (all.start.at()..all.end.at())
                .map(ObservationIx::from)
                .collect(),
            repairs: (0..self.model.faults.len()).map(FaultIx::from).collect(),
        })
    }

    fn run(&self, node: &Node) -> f64 {
        let mass: f64 = node.weights.iter().map(|(_, weight)| weight).sum();
        if mass < 1e-6 {
            return self.handing_over(node);
        }
        let (model, findings) = doubting_repairs(self.model, &node.findings);
        let belief = Belief::given(&model, &findings);
        let choice = (self.policy)(&Situation {
            model: &model,
            belief: &belief,
            open: &node.open,
            observations: &node.observations,
            repairs: &node.repairs,
            terms: self.terms,
            depth: Depth::TwoSteps,
        });
        match choice {
            Choice::HandOver => self.handing_over(node),
            Choice::Repair(fault) => self.repair(node, fault),
            Choice::Observe(observations) => self.observe(node, observations[0], mass),
        }
    }

    fn handing_over(&self, node: &Node) -> f64 {
        let minutes = |(set, weight): &(Vec<FaultIx>, f64)| {
            let faults = f64::from(u32::try_from(set.len()).expect("few"));
            self.prices().handing_over(*weight, weight * faults)
        };
        node.weights.iter().map(minutes).sum()
    }

    fn prices(&self) -> Prices<'_> {
        Prices::of(self.model, self.terms)
    }

    fn observe(&self, node: &Node, observation: ObservationIx, mass: f64) -> f64 {
        let prices = self.prices();
        let open = Openings::with_parents(self.model, &node.open);
        let looked_at = &self.model.observations[observation.at()];
        let mut minutes = mass * prices.observing(&[observation], open);
        for outcome in 0..looked_at.outcomes.len() {
            let mut next = node.clone();
            for (set, weight) in &mut next.weights {
                let decides = looked_at
                    .causes
                    .iter()
                    .find(|cause| set.contains(&cause.fault));
                *weight *= decides.map_or(&looked_at.normal, |cause| &cause.outcomes)[outcome];
            }
            next.findings.push(hard(self.model, observation, outcome));
            next.open = open
                .and(prices.observation_needs(observation))
                .iter()
                .collect();
            next.observations.retain(|o| *o != observation);
            minutes += self.run(&next);
        }
        minutes
    }

    fn repair(&self, node: &Node, fault: FaultIx) -> f64 {
        let prices = self.prices();
        let open = Openings::with_parents(self.model, &node.open);
        let success = self.model.faults[fault.at()].repair.success;
        let mut next = node.clone();
        next.weights.clear();
        let mut minutes = 0.0;
        for (set, weight) in &node.weights {
            let present = set.contains(&fault);
            let needless = if present {
                0.0
            } else {
                self.terms.wrong_repair_minutes
            };
            minutes += *weight * (prices.repairing(fault, open) + needless);
            let cured = if present { *weight * success } else { 0.0 };
            let rest = set.iter().copied().filter(|other| *other != fault);
            next.weights.push((rest.collect(), cured));
            next.weights.push((set.clone(), weight - cured));
        }
        next.weights
            .retain(|(set, weight)| !set.is_empty() && *weight > 0.0);
        next.findings.push(Finding::Repaired(fault));
        next.findings.push(hard(self.model, self.proof, 1));
        next.open = open.and(prices.repair_needs(fault)).iter().collect();
        next.repairs.retain(|other| *other != fault);
        minutes + self.run(&next)
    }
}

/// A plain result.
pub fn hard(model: &Model, observation: ObservationIx, outcome: usize) -> Finding {
    let mut weights = vec![0.0; model.observations[observation.at()].outcomes.len()];
    weights[outcome] = 1.0;
    Finding::Seen {
        observation,
        weights,
        strength: 1.0,
    }
}
