//! Facts of the trade: common practice, no source.

use floatbowl::quantity::battery::{Make, Rested};
use floatbowl::quantity::circuit::Feed;
use floatbowl::quantity::fuse::{Check, Opening, State, colour, opening, state};
use floatbowl::quantity::relay::{Contacts, coil_current, coil_resistance, contacts};
use floatbowl::quantity::si::{Amperes, Seconds, Volts};
use floatbowl::quantity::{
    Band, Doubt, Kind, Measured, Meter, Raw, Shown, Side, Verdict, judge, receipt,
};

/// A winding spec of 1.6 to 2.2 ohm, as any spec with two limits.
fn winding() -> [Band; 4] {
    [
        Band::below(1.6).on(Side::Below),
        Band::between(1.6, 2.2).on(Side::Within),
        Band::above(2.2).on(Side::Above),
        Band::overload(),
    ]
}

fn ohms(value: f64) -> Raw {
    Raw::value(Kind::Resistance, value, Some(0.1))
}

// Common practice, no source: spec 1.6 to 2.2, leads 1.6, meter 3.4, so 1.8 ohm and in range.
#[test]
fn a_winding_of_3_4_with_leads_of_1_6_is_in_range() {
    let (bands, meter) = (winding(), Meter::cheap());
    let measured = Measured {
        offset: Some(ohms(1.6)),
        ..Measured::new(ohms(3.4), &bands, &meter)
    };
    let judgement = judge(&measured).expect("a plain reading");
    assert_eq!(judgement.verdict, Verdict::Clear(1));
    let line = receipt(&judgement, &measured.raw, measured.offset.as_ref())
        .expect("a number")
        .line();
    assert_eq!(
        line,
        "3.4 − 1.6 (leads) = 1.8 ± 0.2 ohm; spec 1.6 to 2.2; in range"
    );
}

// Common practice, no source: the same meter and leads without the subtraction condemn a good pump.
#[test]
fn the_same_reading_without_the_leads_is_not_clear() {
    let (bands, meter) = (winding(), Meter::cheap());
    let judgement = judge(&Measured::new(ohms(2.3), &bands, &meter)).expect("a plain reading");
    assert!(matches!(judgement.verdict, Verdict::TooClose { .. }));
}

// Common practice, no source: an open winding means that the pump is bad.
#[test]
fn an_overload_is_an_open_winding() {
    let (bands, meter) = (winding(), Meter::cheap());
    let open = Raw::shown(Kind::Resistance, Shown::Overload);
    let judgement = judge(&Measured::new(open, &bands, &meter)).expect("an outcome of its own");
    assert_eq!(judgement.verdict, Verdict::Clear(3));
}

#[test]
fn volts_are_no_answer_to_a_question_for_ohms() {
    let (bands, meter) = (winding(), Meter::cheap());
    let measured = Measured {
        asked: Kind::Resistance,
        ..Measured::new(Raw::value(Kind::Voltage, 12.4, Some(0.1)), &bands, &meter)
    };
    let doubt = Doubt::OtherKind {
        asked: Kind::Resistance,
        said: Kind::Voltage,
    };
    assert_eq!(judge(&measured), Err(doubt));
}

// Common practice, no source: a short, next to nothing between the terminals, means a bad pump.
#[test]
fn a_winding_without_resistance_is_shorted() {
    let (bands, meter) = (winding(), Meter::cheap());
    let measured = Measured {
        offset: Some(ohms(0.4)),
        confirmed: true,
        ..Measured::new(ohms(0.5), &bands, &meter)
    };
    assert_eq!(
        judge(&measured).expect("confirmed").verdict,
        Verdict::Clear(0)
    );
}

fn overnight(make: Make) -> Rested {
    Rested {
        make,
        rest: Some(Seconds(3600.0)),
        celsius: None,
    }
}

// Common practice, no source: 13.3 V after a night on the charger is ample, however it is made.
#[test]
fn a_battery_at_13_3_volts_off_the_charger_is_ample() {
    for make in [Make::Flooded, Make::Agm, Make::Unknown] {
        assert!(overnight(make).charge(Volts(13.3)).low >= 0.75, "{make:?}");
    }
    assert!(overnight(Make::Flooded).charge(Volts(12.2)).low < 0.5);
}

// Common practice, no source: a battery that can crank the engine can run the pump.
#[test]
fn a_battery_that_cranks_runs_the_pump() {
    let (open, cranking) = (Volts(12.5), Volts(9.6));
    let path = Feed::path_of(open, cranking, Amperes(80.0));
    let battery = Feed { open, path };
    assert!(battery.at_current(Amperes(5.0)).0 > 12.0);
}

// Common practice, no source: a main fuse of 30 A and an ignition fuse of 10 A.
#[test]
fn a_main_fuse_is_green_and_an_ignition_fuse_red() {
    assert_eq!(colour(Amperes(30.0)), Some("green"));
    assert_eq!(colour(Amperes(10.0)), Some("red"));
    // One size cannot stand in for the other: three times its rating blows the small one at once.
    assert!(!matches!(
        opening(Amperes(10.0), Amperes(30.0)),
        Opening::Holds(_)
    ));
}

// Common practice, no source: a pump relay's coil draws about 50 mA at 12 V.
#[test]
fn a_relay_coil_of_240_ohms_draws_50_milliamperes() {
    let coil = coil_resistance(Volts(12.0), Amperes(0.05));
    assert!((coil.0 - 240.0).abs() < 1e-9);
    assert!((coil_current(Volts(12.0), coil).0 - 0.05).abs() < 1e-12);
}

// Common practice, no source: contacts are open at rest and closed when energised.
#[test]
fn relay_contacts_close_when_energised() {
    assert_eq!(contacts(false, true), Contacts::Work);
    assert_eq!(contacts(true, true), Contacts::Welded);
    assert_eq!(contacts(false, false), Contacts::NeverClose);
}

// Common practice, no source: a fuse that looks whole may be cracked; voltage behind it proves it.
#[test]
fn only_voltage_behind_it_proves_a_fuse() {
    let sides = |before, behind| {
        state(Check::BothSides {
            before: Volts(before),
            behind: Volts(behind),
        })
    };
    assert_eq!(state(Check::Look { whole: true }), State::NotProven);
    assert_eq!(state(Check::Continuity { passes: true }), State::NotProven);
    assert_eq!(state(Check::Continuity { passes: false }), State::Blown);
    assert_eq!(sides(12.5, 12.4), State::Good);
    assert_eq!(sides(12.5, 0.1), State::Blown);
    assert_eq!(sides(12.5, 11.0), State::Resistive);
    assert_eq!(sides(0.0, 0.0), State::NoSupply);
}
