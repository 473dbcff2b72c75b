//! Readings judged: against bands, against published sources, in doubt, at random, and what tricks a meter.

mod doubts;
mod properties;
mod random;
mod spec;
mod trade;
mod traps;
mod uom;
mod values;
