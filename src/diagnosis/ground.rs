//! What planning stands on: the prices of one model's steps, and what decides its observations.

use super::cost::{Prices, Terms};
use super::forecast::{Deciders, Forecast};
use super::frame::Frame;
use crate::knowledge::model::Model;

/// Worked out once for a plan, then only read.
#[derive(Debug, Clone)]
pub struct Ground<'a> {
    /// What steps cost.
    pub prices: Prices<'a>,
    /// By observation; empty for one that may not be asked for.
    deciders: Vec<Deciders>,
}

impl<'a> Ground<'a> {
    /// For a model, on these terms, with these observations allowed.
    pub fn of(model: &'a Model, terms: Terms, observations: &[usize]) -> Self {
        let mut deciders = vec![Deciders::default(); model.observations.len()];
        for at in observations {
            deciders[*at] = Deciders::of(&model.observations[*at], model.faults.len());
        }
        Self {
            prices: Prices::of(model, terms),
            deciders,
        }
    }

    /// The same on other terms.
    pub fn on(self, terms: Terms) -> Self {
        Self {
            prices: Prices::of(self.prices.model, terms),
            ..self
        }
    }

    /// What an allowed observation may show.
    pub fn forecast(&self, observation: usize, frame: &Frame) -> Forecast<'_> {
        Forecast::of(&self.deciders[observation], frame)
    }
}
