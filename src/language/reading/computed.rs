//! A number that is only worked out of those said before it: "1.6, leads 0.4, so really 1.2".

use super::{Sorter, Taken};
use crate::language::owner::LEADS;
use crate::quantity::Kind;

/// Tokens before a number, and after it, in which it may be said that it was worked out.
const NEAR: usize = 6;
const AFTER: usize = 3;
/// How far a flow may be rounded that was worked out of a volume and a time.
const ROUNDED: f64 = 0.02;
/// Readings looked back over for the two.
const BACK: usize = 8;

impl Sorter<'_, '_, '_> {
    /// Drops every number that is worked out of readings, which are told all the same.
    pub(super) fn drop_computed(&self, taken: &mut Vec<Taken>) {
        let mut at = 2;
        while at < taken.len() {
            let (before, rest) = taken.split_at(at);
            if self.is_computed(&rest[0], before) {
                taken.remove(at);
            } else {
                at += 1;
            }
        }
    }

    fn is_computed(&self, this: &Taken, before: &[Taken]) -> bool {
        match this.kind {
            Kind::Flow => is_their_flow(this, before),
            Kind::Resistance => self.is_worked_out(this) && is_their_difference(this, before),
            Kind::Voltage => self.is_worked_out(this) && is_their_drop(this, before),
            _ => false,
        }
    }

    /// Whether words beside it say that it was worked out.
    fn is_worked_out(&self, this: &Taken) -> bool {
        let own = &self.text.quantities[this.at].tokens;
        let numbers = &self.text.quantities;
        let last = this
            .at
            .checked_sub(1)
            .map_or(0, |at| numbers[at].tokens.end);
        let next = numbers
            .get(this.at + 1)
            .map_or(self.text.tokens.len(), |next| next.tokens.start);
        let before = own.start.saturating_sub(NEAR).max(last)..own.start;
        let after = own.end..(own.end + AFTER).min(next);
        before
            .chain(after)
            .any(|at| self.text.in_class(at, "working-out"))
    }
}

/// Whether it is a resistance measured with the leads, less that of the leads.
fn is_their_difference(this: &Taken, before: &[Taken]) -> bool {
    let alike = before.iter().rev().filter(|other| other.kind == this.kind);
    let alike: Vec<&Taken> = alike.take(BACK).collect();
    let is_leads = |taken: &Taken| taken.reading.of.as_deref() == Some(LEADS);
    let mut pairs = alike
        .iter()
        .flat_map(|one| alike.iter().map(move |other| (*one, *other)));
    !is_leads(this)
        && pairs
            .any(|(one, other)| is_leads(other) && !is_leads(one) && is_of_two(this, one, other))
}

/// Whether it is how much lower the second of the two voltages before it is: "12.5 and 11.1, so 1.4 is lost".
fn is_their_drop(this: &Taken, before: &[Taken]) -> bool {
    let [.., high, low] = before else {
        return false;
    };
    let volts = |one: &Taken| one.kind == Kind::Voltage;
    let falls = this.reading.value.is_some_and(|drop| drop > 0.0);
    falls && volts(high) && volts(low) && is_of_two(this, high, low)
}

/// Whether it is one less the other, as far as its digits tell.
fn is_of_two(this: &Taken, one: &Taken, other: &Taken) -> bool {
    let step = this.reading.resolution.unwrap_or(0.0);
    let told = one.reading.value.zip(other.reading.value);
    let told = told.zip(this.reading.value);
    told.is_some_and(|((one, other), value)| (one - other - value).abs() <= 0.51 * step + 1e-9)
}

/// Whether it is a volume said before it over a time said before it.
fn is_their_flow(this: &Taken, before: &[Taken]) -> bool {
    let values = |kind: Kind| {
        let of_kind = before.iter().filter(move |other| other.kind == kind);
        of_kind.filter_map(|other| other.reading.value)
    };
    let Some(flow) = this.reading.value else {
        return false;
    };
    values(Kind::Volume).any(|litres| {
        values(Kind::Duration).any(|seconds| {
            let worked_out = litres / seconds * 60.0;
            (worked_out - flow).abs() <= ROUNDED * flow
        })
    })
}
