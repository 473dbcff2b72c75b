//! Numbers that name what was measured: "1 and 2 = 0.5", "85 to 86 gives 88 ohms", "injector 2 gives OL".

use crate::language::matching::Text;
use crate::language::quantity::Quantity;
use crate::language::token::What;

/// The largest number that terminals and wires go by (DIN 72552 ends at two digits).
const LARGEST: f64 = 99.0;
/// Contacts of a relay's switch and coil (DIN 72552).
const RELAY: [f64; 4] = [30.0, 85.0, 86.0, 87.0];
/// The largest number that parts of one kind go by.
const PARTS: f64 = 12.0;
/// Words and signs between two terminals and what was read across them.
const APART: usize = 4;

/// Whether a number names a terminal, or two of them as a range, and what they read follows.
#[must_use]
pub fn is_terminal(text: &Text<'_>, quantity: &Quantity) -> bool {
    if quantity.unit.is_some() || quantity.kilo || quantity.value > LARGEST {
        return false;
    }
    if quantity.upper.is_some() {
        let whole = quantity.decimals.unwrap_or(0) == 0;
        let of_relay = RELAY.contains(&quantity.value)
            && quantity.upper.is_some_and(|upper| RELAY.contains(&upper));
        return whole && !quantity.spelt && (of_relay || tells(text, quantity.tokens.end));
    }
    let number_at = |at: usize| text.quantity_over(at).map(|at| &text.quantities[at]);
    let joined = |at: usize| {
        text.in_class(at, "to-terminal") || is_sign(text, at, &['-', '/', '+', '&', '>'])
    };
    let count = |other: &Quantity| other.is_count() && !other.spelt && other.value <= LARGEST;
    if is_relay_pair(text, quantity) {
        return true;
    }
    let end = quantity.tokens.end;
    let start = quantity.tokens.start;
    let second = number_at(end + 1).filter(|_| end < text.tokens.len() && joined(end));
    let first = start
        .checked_sub(2)
        .and_then(number_at)
        .filter(|_| joined(start - 1));
    count(quantity)
        && (second.is_some_and(|other| count(other) && tells(text, other.tokens.end))
            || first.is_some_and(|other| count(other) && tells(text, end)))
}

/// Whether two contacts of a relay are named one after the other: "which of 85 and 86".
fn is_relay_pair(text: &Text<'_>, quantity: &Quantity) -> bool {
    let contact = |at: usize| {
        let other = text.quantity_over(at).map(|at| &text.quantities[at]);
        other.is_some_and(|other| other.is_count() && RELAY.contains(&other.value))
    };
    let joined = |at: usize| text.in_class(at, "to-terminal") || text.in_class(at, "joiner");
    let tokens = &quantity.tokens;
    let after = joined(tokens.end) && contact(tokens.end + 1);
    let before = tokens.start >= 2 && joined(tokens.start - 1) && contact(tokens.start - 2);
    RELAY.contains(&quantity.value) && quantity.is_count() && (after || before)
}

/// Whether a number tells parts of one kind apart: "injector 2 gives", "coil 3 open".
#[must_use]
pub fn is_part(text: &Text<'_>, quantity: &Quantity) -> bool {
    let start = quantity.tokens.start;
    let named = start > 0 && text.in_class(start - 1, "partword");
    let end = quantity.tokens.end;
    // "yellow 1 to yellow 2 0.4"
    let onto = text.in_class(end, "to-part") && text.in_class(end + 1, "partword");
    let told = ["tells", "displayword"]
        .iter()
        .any(|class| text.in_class(end, class));
    let shown = text.quantity_over(end).is_some() || is_sign(text, end, &['=', ':']);
    named && quantity.is_count() && quantity.value <= PARTS && (told || onto || shown)
}

/// Whether a number is a terminal of a relay, beside another: "30 has 12.5 V, 87 has 0".
#[must_use]
pub fn is_of_relay(text: &Text<'_>, quantity: &Quantity) -> bool {
    let terminal = |quantity: &Quantity| quantity.is_count() && RELAY.contains(&quantity.value);
    let told = ["tells", "displayword"]
        .iter()
        .any(|class| text.in_class(quantity.tokens.end, class))
        || is_sign(text, quantity.tokens.end, &['=', ':']);
    let others = text
        .quantities
        .iter()
        .filter(|other| terminal(other))
        .take(2);
    terminal(quantity) && told && others.count() > 1
}

/// Whether what was read follows: a number after "=", ":" or a verb, one with a point or a unit, or
/// words for a display.
fn tells(text: &Text<'_>, from: usize) -> bool {
    let mut told = false;
    for at in from..(from + APART).min(text.tokens.len()) {
        if let Some(number) = text.quantity_over(at) {
            let number = &text.quantities[number];
            let measured =
                number.unit.is_some() || number.decimals.is_some_and(|places| places > 0);
            return told || measured;
        }
        if text.in_class(at, "displayword") {
            return true;
        }
        let sign = is_sign(text, at, &['=', ':', '>', '-']);
        told |= sign || text.in_class(at, "tells");
        if !(told || text.is_filler(at)) {
            return false;
        }
    }
    false
}

fn is_sign(text: &Text<'_>, at: usize, signs: &[char]) -> bool {
    let token = text.tokens.get(at).map(|token| &token.what);
    matches!(token, Some(What::Mark(mark)) if signs.contains(mark))
}
