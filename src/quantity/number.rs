//! Numbers as people write them: as many digits as mean something.

/// A number with a fixed count of decimals, with a true minus sign and no minus zero.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    let digits = format!("{:.decimals$}", value.abs());
    let is_zero = digits.chars().all(|c| matches!(c, '0' | '.'));
    if value < 0.0 && !is_zero {
        format!("−{digits}")
    } else {
        digits
    }
}

/// A number in at most four significant digits, without trailing zeros.
#[must_use]
pub fn shortest(value: f64) -> String {
    let digits = fixed(value, decimals_for(value, 4));
    if digits.contains('.') {
        digits
            .trim_end_matches('0')
            .trim_end_matches('.')
            .to_owned()
    } else {
        digits
    }
}

/// An uncertainty rounded up to one significant digit, and the decimals that takes; to two digits
/// below 1.5 of a power of ten, where one would double it.
///
/// More digits than that say nothing (GUM 7.2.6 allows two at most, and rounding up). A twentieth
/// above a step still counts as that step.
#[must_use]
pub fn rounded_up(uncertainty: f64) -> (f64, usize) {
    if uncertainty <= 0.0 || !uncertainty.is_finite() {
        return (0.0, 3);
    }
    let decade = 10_f64.powf(uncertainty.log10().floor());
    let leading = uncertainty / decade;
    let digits = if (1.05..1.45).contains(&leading) {
        2
    } else {
        1
    };
    let step = if digits == 2 { decade / 10.0 } else { decade };
    let rounded = (uncertainty / step - 0.05).ceil() * step;
    (rounded, decimals_for(rounded, digits))
}

/// A number in two significant digits.
#[must_use]
pub fn two_digits(value: f64) -> String {
    fixed(value, decimals_for(value, 2))
}

/// The decimals a number was typed with, from the step of its last digit; enough for four
/// significant digits where there is no step.
#[must_use]
pub fn decimals_of(value: f64, step: Option<f64>) -> usize {
    match step {
        Some(step) if step > 0.0 => decimals_for(step, 1),
        _ => {
            let digits = shortest(value);
            digits.find('.').map_or(0, |point| digits.len() - point - 1)
        }
    }
}

/// Decimals that show `significant` digits of a number; at most nine.
fn decimals_for(value: f64, significant: i32) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    // A hair above, so that 0.1 held as 0.0999... counts as one decimal.
    let leading = (value.abs() * (1.0 + 1e-9)).log10().floor();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a logarithm of a finite number fits"
    )]
    let decimals = significant - 1 - leading as i32;
    usize::try_from(decimals.clamp(0, 9)).unwrap_or(0)
}
