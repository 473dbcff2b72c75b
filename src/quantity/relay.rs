//! Relays: which terminals are joined at rest and energised, and what checks of them say.

use super::si::{Amperes, Ohms, Volts, Watts};

/// The terminals of a changeover relay (DIN 72552, ISO 7588, as found on general pages).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Terminal {
    /// 30: the common contact, from the supply.
    Common,
    /// 85 and 86: the coil; which is which matters only where it has a diode.
    Coil,
    /// 87: makes when energised.
    Make,
    /// 87a: breaks when energised.
    Break,
}

/// The terminal of a number; none where the number is no relay terminal.
#[must_use]
pub fn terminal(number: &str) -> Option<Terminal> {
    match number {
        "30" => Some(Terminal::Common),
        "85" | "86" => Some(Terminal::Coil),
        "87" => Some(Terminal::Make),
        "87a" => Some(Terminal::Break),
        _ => None,
    }
}

/// Whether the common contact is joined to another terminal.
#[must_use]
pub fn joined_to_common(other: Terminal, energised: bool) -> bool {
    match other {
        Terminal::Make => energised,
        Terminal::Break => !energised,
        Terminal::Coil => false,
        Terminal::Common => true,
    }
}

/// The current a coil draws.
#[must_use]
pub fn coil_current(supply: Volts, coil: Ohms) -> Amperes {
    supply / coil
}

/// The resistance of a coil that draws a current.
#[must_use]
pub fn coil_resistance(supply: Volts, current: Amperes) -> Ohms {
    supply / current
}

/// The power a coil turns to heat.
#[must_use]
pub fn coil_power(supply: Volts, coil: Ohms) -> Watts {
    coil_current(supply, coil) * supply
}

/// What a check of the contacts between 30 and 87 says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contacts {
    /// Open at rest, closed when energised.
    Work,
    /// Closed at rest: welded.
    Welded,
    /// Open when energised: coil open, or contacts burnt.
    NeverClose,
}

/// What the contacts between 30 and 87 show, from whether they are closed at rest and energised.
#[must_use]
pub fn contacts(closed_at_rest: bool, closed_energised: bool) -> Contacts {
    match (closed_at_rest, closed_energised) {
        (true, _) => Contacts::Welded,
        (false, true) => Contacts::Work,
        (false, false) => Contacts::NeverClose,
    }
}
