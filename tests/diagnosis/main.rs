//! Belief and planning against hand arithmetic, published networks, enumeration and the optimum.

mod access;
mod belief;
mod brute_force;
mod calibration;
mod doubt;
mod exported;
mod hand;
mod planning;
mod policy;
mod published;
mod random;
mod reasons;
mod riders;
