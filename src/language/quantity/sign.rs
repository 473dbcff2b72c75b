//! The prefix that a meter shows beside its digits, told as a sign: "1.6, with a kilo ohm sign".

use super::{Quantity, Reader};
use crate::knowledge::phrase::NumberWord;
use crate::language::token::What;
use crate::quantity::Kind;

/// Tokens between the number and the sign.
const NEAR: usize = 8;
/// Tokens about the sign that say that it is one.
const ABOUT: usize = 4;

impl Reader<'_> {
    /// Gives a number without a unit that of the sign which is told to be lit beside it.
    pub(super) fn signed(&self, quantities: &mut [Quantity]) {
        for nth in 0..quantities.len() {
            // "a kilo ohm sign" is no other number
            let mut after = quantities[nth + 1..].iter();
            let next = after
                .find(|next| !next.article)
                .map_or(self.tokens.len(), |next| next.tokens.start);
            let quantity = &mut quantities[nth];
            if quantity.unit.is_some() || quantity.kilo || quantity.article {
                continue;
            }
            let end = next.min(quantity.tokens.end + NEAR);
            let lit = (quantity.tokens.end..end).find(|at| self.is_lit(*at, end));
            if let Some(at) = lit {
                self.enlarge(quantity, at);
            }
        }
    }

    /// Whether a word is a prefix, alone or with its unit, that is told to be shown.
    fn is_lit(&self, at: usize, end: usize) -> bool {
        let mut about = at.saturating_sub(ABOUT)..(at + 1 + ABOUT).min(end);
        let shown = about.any(|at| self.in_class(at, "display-sign"));
        let denied = (at.saturating_sub(2)..at).any(|at| self.in_class(at, "unlit"));
        self.prefix(at).is_some() && shown && !denied
    }

    /// The prefix at a token: a thousand, or the unit that holds it.
    fn prefix(&self, at: usize) -> Option<Prefix> {
        let What::Word(_) = self.tokens[at].what else {
            return None;
        };
        let unit = self.unit(at, false).map(|(unit, _)| unit).filter(|unit| {
            let unit = self.phrases.units.unit(*unit);
            unit.kind == Kind::Resistance && unit.to_base(1.0) > 1.0
        });
        let kilo = matches!(
            self.phrases.numbers.find(self.plain(at)),
            Some(NumberWord::Kilo(_))
        );
        unit.map(Prefix::Of).or(kilo.then_some(Prefix::Kilo))
    }

    fn enlarge(&self, quantity: &mut Quantity, at: usize) {
        match self.prefix(at) {
            Some(Prefix::Of(unit)) => quantity.unit = Some(unit),
            Some(Prefix::Kilo) => {
                quantity.value *= 1_000.0;
                quantity.upper = quantity.upper.map(|upper| upper * 1_000.0);
                (quantity.scale, quantity.kilo) = (quantity.scale * 1_000.0, true);
            }
            None => {}
        }
    }
}

/// What a sign says of the number beside it.
enum Prefix {
    Kilo,
    /// A unit, by its position.
    Of(usize),
}
