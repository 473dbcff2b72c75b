//! What sort of number a figure is to the learned tables: a model year, a mileage, a frost, or any other.

use crate::language::matching::Text;
use crate::language::quantity::Quantity;
use crate::language::token::What;
use crate::quantity::Kind;

/// Degrees Celsius that count as cold weather.
const COLD: f64 = 4.0;
/// Degrees Celsius that no weather reaches.
const HOT: f64 = 50.0;
/// A count that is the mileage of a well used bike.
const MANY: f64 = 20_000.0;
/// Model years of four digits, by decades: before 2000, before 2010, and later ones.
const YEARS: [(f64, &str); 3] = [(2000.0, "0old"), (2010.0, "0aged"), (2036.0, "0late")];
/// The first year that is one.
const FIRST: f64 = 1920.0;

/// The word a number counts as; any number is `0` where nothing tells more.
pub(super) fn figure(text: &Text<'_>, at: usize) -> &'static str {
    const ANY: &str = "0";
    let over = text.quantity_over(at).map(|over| &text.quantities[over]);
    let Some(quantity) = over else {
        return ANY;
    };
    // "80s" may be seconds, and of a bike is a decade
    let decade = (40.0..=90.0).contains(&quantity.value) && quantity.value % 10.0 == 0.0;
    if decade && text.in_class(at + 1, "decade") {
        return "0old";
    }
    let unit = quantity.unit.map(|unit| text.phrases.units.unit(unit));
    if let Some(unit) = unit.filter(|unit| unit.kind == Kind::Temperature) {
        return match unit.to_base(quantity.value) {
            degrees if degrees <= COLD => "0cold",
            degrees if degrees >= HOT => "0hot",
            _ => "0warm",
        };
    }
    if quantity.kilo && quantity.value >= MANY {
        return "0many";
    }
    if quantity.is_count() && !quantity.spelt {
        return year(text, quantity).unwrap_or(if quantity.value >= MANY { "0many" } else { ANY });
    }
    ANY
}

/// "1981", "'81", "an 81 twin", "a 76 550".
fn year(text: &Text<'_>, quantity: &Quantity) -> Option<&'static str> {
    let value = quantity.value;
    if (FIRST..2036.0).contains(&value) {
        let within = |(end, _): &&(f64, &str)| value < *end;
        return YEARS.iter().find(within).map(|(_, word)| *word);
    }
    let tokens = &quantity.tokens;
    let What::Number(digits) = &text.tokens[tokens.start].what else {
        return None;
    };
    let of_bike = text.in_class(tokens.end, "dated") || text.quantity_over(tokens.end).is_some();
    match value {
        _ if tokens.len() > 1 => None,
        40.0..=99.0 if digits.clipped => Some("0old"),
        55.0..=99.0 if of_bike => Some("0old"),
        0.0..=9.0 if digits.clipped => Some("0aged"),
        10.0..=35.0 if digits.clipped => Some("0late"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::figure;
    use crate::language::testing::read;
    use crate::language::token::What;

    fn figures(message: &str) -> Vec<&'static str> {
        read(message, |text, _, _| {
            let number = |at: &usize| matches!(text.tokens[*at].what, What::Number(_));
            let numbers = (0..text.tokens.len()).filter(number);
            numbers.map(|at| figure(text, at)).collect()
        })
    }

    #[test]
    fn years_frost_and_mileage_are_told_from_other_numbers() {
        for (message, expected) in [
            ("a 1981 650 twin", vec!["0old", "0"]),
            ("my '75 500 and an 81 twin", vec!["0old", "0", "0old"]),
            ("80s boxer, or a 2004 single", vec!["0old", "0aged"]),
            ("a '08 and a '19", vec!["0aged", "0late"]),
            ("it was -9 C, 15F, 39 F at night", vec!["0cold"; 3]),
            ("85 F outside, the head at 110 C", vec!["0warm", "0hot"]),
            ("128k on it, 80000 miles", vec!["0many", "0many"]),
            ("12.6 V, 13 plugs, 60 mph, 300 miles", vec!["0"; 4]),
        ] {
            assert_eq!(figures(message), expected, "{message}");
        }
    }
}
