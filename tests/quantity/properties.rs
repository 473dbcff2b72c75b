//! What must hold of every judgement, whatever the numbers.

use floatbowl::quantity::circumstance::Taken;
use floatbowl::quantity::distribution::{Shape, Sum};
use floatbowl::quantity::{
    Band, Circumstances, Judgement, Kind, Measured, Meter, Nature, Raw, Resolution, Side, Unit,
    Verdict, Warmth, judge,
};
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

/// A voltage taken in some way, against one limit.
fn taken(volts: f64, limit: f64, (nature, under): (Nature, Circumstances)) -> Judgement {
    let (bands, meter) = ([Band::below(limit), Band::above(limit)], Meter::cheap());
    let raw = Raw::value(Kind::Voltage, volts, Some(0.01));
    let taken = Taken {
        measured: Measured::new(raw, &bands, &meter),
        nature: Some(nature),
        spec_celsius: None,
        under,
    };
    taken.judge().expect("a voltage of a 12 V battery").0
}

proptest! {
    #[test]
    fn a_higher_limit_is_never_likelier_to_be_passed(
        value in 1.0..19.0_f64, limit in 1.0..19.0_f64, more in 0.0..3.0_f64,
    ) {
        let above = |limit: f64| {
            judged(value, Some(0.2), &[Band::below(limit), Band::above(limit)]).weights[1]
        };
        prop_assert!(above(limit + more) <= above(limit) + 1e-9);
    }

    #[test]
    fn a_better_meter_is_never_less_sure_of_the_right_side(
        volts in 10.0..15.0_f64, limit in 10.0..15.0_f64, percent in 0.1..2.0_f64, worse in 0.0..2.0_f64,
    ) {
        let bands = [Band::below(limit), Band::above(limit)];
        let right = |percent: f64| {
            let meter = Meter::rated(percent, 2.0);
            let raw = Raw::value(Kind::Voltage, volts, Some(0.01));
            let judgement = judge(&Measured::new(raw, &bands, &meter)).expect("a plain voltage");
            judgement.weights[usize::from(volts > limit)]
        };
        prop_assert!(right(percent) >= right(percent + worse) - 1e-9);
    }

    #[test]
    fn a_longer_rest_never_makes_a_battery_emptier(
        volts in 11.0..13.5_f64, rest in 0.0..100_000.0_f64, longer in 0.0..100_000.0_f64,
    ) {
        let full = |rest: f64| {
            let under = Circumstances { rest: Some(rest), ..Circumstances::default() };
            taken(volts, 12.4, (Nature::RestedBattery, under)).weights[1]
        };
        prop_assert!(full(rest + longer) >= full(rest) - 1e-9);
    }

    #[test]
    fn a_voltage_without_load_is_never_called_good(volts in 10.6..15.0_f64) {
        let under = Circumstances { loaded: Some(false), ..Circumstances::default() };
        let judgement = taken(volts, 10.5, (Nature::UnderLoad, under));
        prop_assert!(judgement.verdict != Verdict::Clear(1), "{:?}", judgement.weights);
    }

    #[test]
    fn knowing_the_warmth_never_widens_the_doubt(ohms in 1.0..5.0_f64, celsius in 0.0..90.0_f64) {
        let (bands, meter) = ([Band::below(2.0), Band::above(2.0)], Meter::cheap());
        let doubt = |warmth| {
            let under = Circumstances { warmth, unsure: true, ..Circumstances::default() };
            let raw = Raw::value(Kind::Resistance, ohms, Some(0.01));
            let measured = Measured::new(raw, &bands, &meter);
            let taken = Taken { measured, nature: Some(Nature::Copper), spec_celsius: Some(20.0), under };
            let (judgement, missing) = taken.judge().expect("a plain resistance");
            prop_assert!(missing.is_none());
            let estimate = judgement.estimate.expect("a number");
            Ok(estimate.standard_uncertainty / estimate.corrected)
        };
        prop_assert!(doubt(Some(Warmth::told(celsius)))? <= doubt(None)? + 1e-9);
    }

    #[test]
    fn what_a_yes_makes_of_a_reading_is_not_doubted_in_the_same_way(value in -200.0..2000.0_f64) {
        let bands = [
            Band::below(12.0).on(Side::Below),
            Band::between(12.0, 15.0).on(Side::Within),
            Band::above(15.0).on(Side::Above),
        ];
        let meter = Meter::cheap();
        let mut raw = Raw::value(Kind::Voltage, value, Some(0.1));
        // Turned round, shifted, and shifted again at the most.
        for _ in 0..3 {
            match judge(&Measured::new(raw, &bands, &meter)).map_err(|doubt| doubt.if_yes(&raw)) {
                Err(Resolution::Is(meant)) => raw = meant,
                Ok(_) | Err(Resolution::Stands | Resolution::Again) => return Ok(()),
            }
        }
        prop_assert!(judge(&Measured::new(raw, &bands, &meter)).is_ok(), "{raw:?}");
    }

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
