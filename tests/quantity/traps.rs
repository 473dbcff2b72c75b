//! Traps that published values set for a careless tool, one test each.

use floatbowl::quantity::battery::{Make, Rested};
use floatbowl::quantity::budget::{Input, combined};
use floatbowl::quantity::circuit::{Feed, unloaded};
use floatbowl::quantity::distribution::{Shape, Sum};
use floatbowl::quantity::fuse::{Opening, hot_resistance, opening};
use floatbowl::quantity::hydraulics::{Hose, Liquid, Loss};
use floatbowl::quantity::remedy::Remedy;
use floatbowl::quantity::si::{
    Amperes, CubicMetresPerSecond, KilogramsPerCubicMetre, Metres, Ohms, PascalSeconds, Pascals,
    Seconds, Volts,
};
use floatbowl::quantity::{
    Band, Doubt, Kind, Measured, Meter, Raw, Shown, Side, Unit, Verdict, fuel, judge,
};

fn convert(value: f64, from: &str, to: &str) -> f64 {
    let (from, to) = (Unit::named(from).unwrap(), Unit::named(to).unwrap());
    from.convert(value, to).unwrap()
}

// NIST SP 811 (2008), App. B.8: 3.386389 conventional, 3.37685 at 60 degF.
#[test]
fn an_inch_of_mercury_is_the_conventional_one() {
    let inch = convert(1.0, "inHg", "kPa");
    assert!((inch - 3.386_389).abs() < 1e-6 && (inch - 3.376_85).abs() > 9e-3);
}

// NIST SP 811 (2008), App. B.8: six figures of the psi are too coarse for a chain.
#[test]
fn a_chain_of_conversions_comes_back_to_where_it_began() {
    let round = [
        "kPa", "bar", "inHg", "mmHg", "inH2O", "atm", "kg/cm2", "psi",
    ];
    let mut value = 43.5;
    let mut from = "psi";
    for to in round {
        (value, from) = (convert(value, from, to), to);
    }
    assert!((value / 43.5 - 1.0).abs() < 1e-14, "{value}");
}

// NIST SP 811 (2008), App. B.8: the two pints are 20 % apart, and both have a name of their own.
#[test]
fn a_pint_says_whose_it_is() {
    assert_eq!(Unit::named("pint").unwrap().symbol, "US pint");
    let ratio = convert(1.0, "imp pint", "mL") / convert(1.0, "pint", "mL");
    assert!((ratio - 1.2).abs() < 0.001);
}

// Battery maker's FAQ against handbooks: the correction's sign is disputed, so it only widens.
#[test]
fn cold_widens_a_charge_both_ways() {
    let at = |celsius| Rested {
        make: Make::Flooded,
        rest: Some(Seconds(86_400.0)),
        celsius: Some(celsius),
    };
    let (warm, cold) = (at(26.7).charge(Volts(12.3)), at(0.0).charge(Volts(12.3)));
    assert!(cold.low < warm.low && cold.high > warm.high);
}

// General pages on AGM batteries: 100 % stands anywhere from 12.7 to 13.0 V.
#[test]
fn no_battery_voltage_gives_a_close_charge() {
    for tenths in 118..=130 {
        let volts = Volts(f64::from(tenths) / 10.0);
        for (make, least) in [(Make::Agm, 0.2), (Make::Unknown, 0.2), (Make::Flooded, 0.0)] {
            let rested = Rested {
                make,
                rest: Some(Seconds(86_400.0)),
                celsius: None,
            };
            let charge = rested.charge(volts);
            assert!(charge.low <= charge.high && charge.high - charge.low >= least);
        }
    }
}

// EA-4/02, example S9: with one rectangle dominating, two standard uncertainties over-cover.
#[test]
fn a_display_limited_meter_has_a_coverage_factor_of_1_65() {
    let bands = [Band::below(100.0), Band::above(100.0)];
    let meter = Meter::rated(0.0, 0.0);
    let reading = Raw::value(Kind::Pressure, 90.0, Some(10.0));
    let single = Measured {
        worked_out: Some(vec![floatbowl::quantity::uncertainty::Part::within(
            floatbowl::quantity::uncertainty::Origin::Rounding,
            5.0,
        )]),
        ..Measured::new(reading, &bands, &meter)
    };
    let k = judge(&single).unwrap().estimate.unwrap().coverage_factor();
    assert!((k - 1.645).abs() < 1e-3, "{k}");
}

// JCGM 100:2008 (GUM) 5.2.2: a difference doubles the variance of the display, and cancels the gain.
#[test]
fn taking_off_the_leads_doubles_the_display_and_cancels_the_gain() {
    let bands = [Band::below(1.05), Band::above(1.05)];
    let raw = |value| Raw::value(Kind::Resistance, value, Some(0.1));
    let u = |meter: Meter, value, leads| {
        let measured = Measured {
            offset: Some(raw(leads)),
            ..Measured::new(raw(value), &bands, &meter)
        };
        judge(&measured)
            .unwrap()
            .estimate
            .unwrap()
            .standard_uncertainty
    };
    let display = Meter::rated(0.0, 0.0).with_contact(0.0);
    assert!((u(display, 1.4, 0.4).powi(2) - 2.0 * 0.01 / 12.0).abs() < 1e-12);
    // Leads of nine ohms add nothing to what a gain of 2 % does to one ohm.
    let gain = Meter::rated(2.0, 1.0).with_contact(0.0);
    assert!((u(gain, 1.4, 0.4) - u(gain, 10.0, 9.0)).abs() < 1e-12);
    let correlated = combined(
        &[Input::known(0.05, 1.0), Input::known(0.05, -1.0)],
        |_, _| 1.0,
    );
    assert!(correlated < 1e-12);
}

// Own numbers by JCGM 100:2008 (GUM) 4.3.7: a blind normal would say 0.8897 and 0.8538.
#[test]
fn a_rectangle_is_not_replaced_by_a_normal() {
    let triangle = Sum::about(1.0, &[Shape::within(0.05), Shape::within(0.05)]);
    assert!((triangle.below(1.05) - 0.875).abs() < 1e-12);
    let rectangle = Sum::about(12.45, &[Shape::within(0.082_25)]);
    assert!((1.0 - rectangle.below(12.40) - 0.803_951).abs() < 1e-6);
}

// Fuse maker's datasheet, 40 A: 1.44 mohm cold, 96 mV at rated current.
#[test]
fn a_fuse_drops_more_than_its_cold_resistance_says() {
    let current = Amperes(40.0);
    let by_cold: Volts = current * Ohms(0.001_44);
    assert!((by_cold.0 - 0.0576).abs() < 1e-9);
    assert!((hot_resistance(Volts(0.096), current).0 - 0.0024).abs() < 1e-9);
}

// ISO 8820-3 and SAE J1284: nothing is predicted below 110 % nor between two points.
#[test]
fn a_fuse_is_never_predicted_between_points() {
    let rating = Amperes(10.0);
    assert!(matches!(opening(rating, Amperes(11.0)), Opening::Holds(_)));
    assert_eq!(opening(rating, Amperes(18.0)), Opening::Unknown);
    assert_eq!(opening(rating, Amperes(15.9)), Opening::Unknown);
}

// EN 228:2012 against a textbook table that prints petrol as 680 kg/m3.
#[test]
fn petrol_weighs_what_its_standard_says() {
    assert!(fuel::USUAL_DENSITY > fuel::DENSITY.0 && fuel::USUAL_DENSITY < fuel::DENSITY.1);
    assert!(fuel::DENSITY.0 > KilogramsPerCubicMetre(680.0));
}

// A fuel page prints 0.05 % where its own 3.8 teaspoons a gallon are 0.495 %.
#[test]
fn teaspoons_in_a_gallon_are_not_taken_on_trust() {
    let percent = 100.0 * convert(3.8, "US tsp", "US gal");
    assert!((percent - 0.495).abs() < 0.0005 && percent > 5.0 * 0.05);
}

// Reynolds limit of about 2000: beyond it the laminar loss is a lower bound and says so.
#[test]
fn a_laminar_formula_says_where_it_stops() {
    let hose = Hose {
        bore: Metres(0.006),
        length: Metres(0.5),
    };
    let petrol = Liquid {
        density: KilogramsPerCubicMetre(745.0),
        viscosity: PascalSeconds(0.5e-3),
    };
    let at = |ml: f64| hose.loss(CubicMetresPerSecond(ml * 1e-6), petrol);
    assert!(matches!(at(3.0), Loss::Laminar(_)));
    assert!(matches!(at(10.0), Loss::MoreThan(Pascals(loss)) if loss < 166.0));
}

// Meter manuals: thresholds of 40 and 70 ohm; a beep is no proof of a good conductor.
#[test]
fn a_beeper_proves_little() {
    let meter = Meter::cheap();
    let conductor = [Band::below(0.2), Band::above(0.2), Band::overload()];
    let sounded = Measured::new(
        Raw::shown(Kind::Resistance, Shown::Beep),
        &conductor,
        &meter,
    );
    let doubt = Doubt::BeepProvesLittle {
        sounded: true,
        limit: 0.2,
    };
    assert_eq!(judge(&sounded), Err(doubt));
    // Insisted upon, it rules out an open and leaves the rest as it was.
    let judgement = judge(&Measured {
        confirmed: true,
        ..sounded
    })
    .unwrap();
    assert_eq!(judgement.weights, [0.5, 0.5, 0.0]);
    assert_eq!(judgement.remedies, [Remedy::ReadANumber]);
}

// Ohm's law: a joint of 1 ohm before a load of 5 ohm passes all of 12 V with nothing drawing.
#[test]
fn full_voltage_with_no_load_proves_nothing() {
    let feed = Feed {
        open: Volts(12.0),
        path: Ohms(1.0),
    };
    assert!(feed.unplugged().0 > 11.999);
    assert!((feed.at_load(Ohms(5.0)).0 - 10.0).abs() < 1e-9);
    let bands = [
        Band::below(11.5).on(Side::Below),
        Band::above(11.5).on(Side::Within),
    ];
    let meter = Meter::cheap();
    let measured = Measured {
        further: vec![unloaded(feed.unplugged())],
        ..Measured::new(Raw::value(Kind::Voltage, 12.0, Some(0.01)), &bands, &meter)
    };
    let judgement = judge(&measured).unwrap();
    assert!(matches!(judgement.verdict, Verdict::TooClose { .. }));
    assert_eq!(judgement.remedies[0], Remedy::MeasureUnderLoad);
}

// NFPA 497 prints 75 % for hydrogen and 3.3 % for ethanol, IEC 60079-20-1 77 % and 3.1 %: whichever is
// stated anywhere must say whose it is; ISO 16750-2:2023 leaves motorcycles out of its scope.
#[test]
fn no_knowledge_rests_on_a_figure_that_standards_dispute_or_leave_out() {
    for source in floatbowl::knowledge::load::embedded() {
        let text = source.text.to_lowercase();
        let names_one = text.contains("nfpa 497") || text.contains("iec 60079");
        let limits = text.contains("explosive limit") || text.contains("flammable limit");
        assert!(!limits || names_one, "{}", source.path);
        assert!(!text.contains("iso 16750"), "{}", source.path);
    }
}
