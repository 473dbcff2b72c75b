//! What must hold of every judgement, whatever the numbers.

use floatbowl::quantity::distribution::{Shape, Sum};
use floatbowl::quantity::{Band, Judgement, Kind, Measured, Meter, Raw, Unit, judge};
use proptest::prelude::*;

fn ohms(value: f64) -> Raw {
    Raw::value(Kind::Resistance, value, Some(0.1))
}

fn judged(value: f64, offset: Option<f64>, bands: &[Band]) -> Judgement {
    let meter = Meter::cheap();
    judge(&Measured {
        offset: offset.map(ohms),
        confirmed: true,
        ..Measured::new(ohms(value), bands, &meter)
    })
    .expect("a confirmed reading of more than nothing")
}

/// Bands anywhere, with gaps and overlaps, open or closed.
fn bands() -> impl Strategy<Value = Vec<Band>> {
    let limit = || proptest::option::of(0.0..20.0_f64);
    let band = (limit(), limit(), any::<bool>()).prop_map(|(a, b, overload)| {
        let (low, high) = match (a, b) {
            (Some(a), Some(b)) => (Some(a.min(b)), Some(a.max(b))),
            open => open,
        };
        Band {
            low,
            high,
            overload,
            side: None,
        }
    });
    proptest::collection::vec(band, 1..6).prop_filter("numbers need limits", |all| {
        all.iter().any(Band::takes_numbers)
    })
}

proptest! {
    #[test]
    fn weights_are_a_distribution(bands in bands(), value in 0.5..20.0_f64) {
        let weights = judged(value, None, &bands).weights;
        prop_assert_eq!(weights.len(), bands.len());
        prop_assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        prop_assert!(weights.iter().all(|w| (0.0..=1.0 + 1e-12).contains(w)));
        for (band, weight) in bands.iter().zip(weights) {
            prop_assert!(band.takes_numbers() || weight == 0.0);
        }
    }

    #[test]
    fn a_higher_reading_is_never_less_likely_to_be_above(
        value in 1.0..19.0_f64, more in 0.0..2.0_f64, limit in 1.0..19.0_f64,
    ) {
        let bands = [Band::below(limit), Band::above(limit)];
        // The width grows with the reading, so only readings on the upper side are ordered.
        prop_assume!(value >= limit + 0.5);
        let (less, more) = (judged(value, Some(0.2), &bands), judged(value + more, Some(0.2), &bands));
        prop_assert!(more.weights[1] >= less.weights[1] - 1e-9);
    }

    #[test]
    fn the_cumulative_distribution_rises_from_nothing_to_one(
        a in 0.0..2.0_f64, b in 0.0..2.0_f64, c in 0.0..2.0_f64, sd in 0.0..1.0_f64,
        x in -9.0..9.0_f64, step in 0.0..3.0_f64,
    ) {
        prop_assume!(a + b + c + sd > 1e-6);
        let normal = Shape::Normal { sd };
        let sum = Sum::about(0.0, &[Shape::within(a), Shape::within(b), Shape::within(c), normal]);
        prop_assert!(sum.below(x) <= sum.below(x + step) + 1e-9);
        prop_assert!((sum.below(x) + sum.below(-x) - 1.0).abs() < 1e-9 || x == 0.0);
        prop_assert!(sum.below(-30.0) < 1e-15 && sum.below(30.0) > 1.0 - 1e-15);
        let half = sum.half_width(0.95);
        prop_assert!((sum.below(half) - sum.below(-half) - 0.95).abs() < 1e-6);
    }

    #[test]
    fn the_same_offset_on_both_readings_changes_nothing(
        value in 2.0..9.0_f64, leads in 0.1..0.9_f64, both in 0.0..3.0_f64,
    ) {
        let bands = [Band::below(3.0), Band::between(3.0, 5.0), Band::above(5.0)];
        let plain = judged(value, Some(leads), &bands);
        let shifted = judged(value + both, Some(leads + both), &bands);
        for (a, b) in plain.weights.iter().zip(&shifted.weights) {
            prop_assert!((a - b).abs() < 1e-9);
        }
    }

    #[test]
    fn a_conversion_and_back_is_the_same(value in -1e3..1e3_f64) {
        for (from, to) in [("psi", "bar"), ("degF", "degC"), ("US pint", "mL"), ("inHg", "mmHg")] {
            let (from, to) = (Unit::named(from).unwrap(), Unit::named(to).unwrap());
            let back = to.convert(from.convert(value, to).unwrap(), from).unwrap();
            prop_assert!((back - value).abs() <= 1e-12 * value.abs().max(100.0));
        }
    }
}
