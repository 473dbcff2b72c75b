//! Blade fuses: what their colour says, when they open, and how to tell a good one from a blown one.

use super::si::{Amperes, Ohms, Seconds, Volts};
use std::ops::RangeInclusive;

/// Ratings in amperes and their colours (ISO 8820-3, DIN 72581, as found on general pages). The
/// number on the fuse wins over its colour.
pub const COLOURS: [(f64, &str); 11] = [
    (2.0, "grey"),
    (3.0, "violet"),
    (4.0, "pink"),
    (5.0, "tan"),
    (7.5, "brown"),
    (10.0, "red"),
    (15.0, "blue"),
    (20.0, "yellow"),
    (25.0, "clear"),
    (30.0, "green"),
    (40.0, "orange"),
];

/// The colour of a rating; none where the table has none.
#[must_use]
pub fn colour(rating: Amperes) -> Option<&'static str> {
    let same = |&&(listed, _): &&(f64, &str)| (listed - rating.0).abs() < 1e-9;
    COLOURS.iter().find(same).map(|&(_, colour)| colour)
}

/// What a current does to a fuse.
#[derive(Debug, Clone, PartialEq)]
pub enum Opening {
    /// It holds, for at least this long.
    Holds(Seconds),
    /// It opens, somewhere in this span of seconds.
    Within(RangeInclusive<f64>),
    /// No published point: between points nothing is known, and nothing is interpolated.
    Unknown,
}

/// A published point: multiple of the rating, ratings it holds for, and opening time in seconds.
struct Point {
    multiple: f64,
    ratings: RangeInclusive<f64>,
    seconds: RangeInclusive<f64>,
}

/// ATO fuses: ISO 8820-3 type C and SAE J1284 values, as in a transcribed maker's table.
const POINTS: [Point; 5] = [
    point(1.6, 1.0..=30.0, 0.25..=50.0),
    point(2.0, 1.0..=30.0, 0.15..=5.0),
    point(1.35, 35.0..=40.0, 0.75..=600.0),
    point(3.5, 35.0..=40.0, 0.08..=0.5),
    point(6.0, 35.0..=40.0, 0.0..=0.15),
];

const fn point(multiple: f64, ratings: RangeInclusive<f64>, seconds: RangeInclusive<f64>) -> Point {
    Point {
        multiple,
        ratings,
        seconds,
    }
}

/// Up to 110 % of its rating a blade fuse holds for 100 h at least (ISO 8820-3, SAE J1284; from
/// memory, the transcription gives it at 100 %).
const HOLDS_TO: f64 = 1.1;

/// What a current does to a fuse of some rating.
#[must_use]
pub fn opening(rating: Amperes, current: Amperes) -> Opening {
    const NEARLY: f64 = 1e-9;
    let multiple = current / rating;
    if multiple <= HOLDS_TO + NEARLY {
        return Opening::Holds(Seconds(360_000.0));
    }
    POINTS
        .iter()
        .find(|at| at.ratings.contains(&rating.0) && (at.multiple - multiple).abs() < NEARLY)
        .map_or(Opening::Unknown, |at| Opening::Within(at.seconds.clone()))
}

/// The resistance of a fuse's element while it carries a current: its drop over the current. Hot,
/// it is well above what the same fuse has cold, so the cold value times the current is no drop.
#[must_use]
pub fn hot_resistance(drop: Volts, current: Amperes) -> Ohms {
    drop / current
}

/// How a fuse was looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Check {
    /// By eye: whether the element looks whole.
    Look {
        /// It looks whole.
        whole: bool,
    },
    /// Pulled out, with the beeper or on ohms: whether current can pass.
    Continuity {
        /// It passes.
        passes: bool,
    },
    /// In place, with the circuit on: voltage to ground before and behind it.
    BothSides {
        /// On the supply side.
        before: Volts,
        /// On the load side.
        behind: Volts,
    },
}

/// What a check says of the fuse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It carries the current.
    Good,
    /// It is open.
    Blown,
    /// It looks good, or passes a meter's small current; only voltage behind it, under load, proves
    /// it.
    NotProven,
    /// It passes some, and loses too much: a cracked element or dirty blades.
    Resistive,
    /// Nothing arrives at it: look before it.
    NoSupply,
}

/// What a check says of a fuse.
#[must_use]
pub fn state(check: Check) -> State {
    match check {
        Check::Look { whole: false } | Check::Continuity { passes: false } => State::Blown,
        Check::Look { whole: true } | Check::Continuity { passes: true } => State::NotProven,
        Check::BothSides { before, behind } => by_voltage(before, behind),
    }
}

/// More than a good fuse and its blades lose at full rating, about 0.1 V, and less than the meter
/// could make of nothing; common practice, no source.
const TOO_MUCH_LOST: f64 = 0.3;

/// A side below this is dead; common practice, no source.
const DEAD_BELOW: f64 = 1.0;

fn by_voltage(before: Volts, behind: Volts) -> State {
    if before.0 < DEAD_BELOW {
        State::NoSupply
    } else if behind.0 < DEAD_BELOW {
        State::Blown
    } else if (before - behind).0 > TOO_MUCH_LOST {
        State::Resistive
    } else {
        State::Good
    }
}
