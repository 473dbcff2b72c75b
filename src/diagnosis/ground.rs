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
    /// By observation.
    pub deciders: Vec<Deciders>,
}

impl<'a> Ground<'a> {
    /// For a model, on these terms.
    pub fn of(model: &'a Model, terms: Terms) -> Self {
        Self {
            prices: Prices::of(model, terms),
            deciders: Deciders::of_all(model),
        }
    }

    /// What an observation may show.
    pub fn forecast(&self, observation: usize, frame: &Frame) -> Forecast<'_> {
        Forecast::of(&self.deciders[observation], frame)
    }
}
