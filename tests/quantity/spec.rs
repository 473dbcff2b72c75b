//! Which spec counts, and what it does to the bands; and how a judgement is written down.

use floatbowl::quantity::guard::Guarded;
use floatbowl::quantity::spec::{Sheet, SheetError, first_in_order, with_spec};
use floatbowl::quantity::uncertainty::Origin;
use floatbowl::quantity::{
    Band, Basis, Kind, Measured, Meter, Raw, Side, Spec, Unit, Winding, flow, judge, receipt,
};

fn spec(basis: Basis, low: f64, high: f64) -> Spec {
    Spec {
        low: Some(low),
        high: Some(high),
        basis,
        at_celsius: None,
        conditions: String::new(),
        source: "invented".to_owned(),
    }
}

#[test]
fn the_manual_counts_before_the_sheet_before_the_generic_value() {
    let all = [
        spec(Basis::Generic, 1.0, 5.0),
        spec(Basis::Manual, 1.2, 1.8),
        spec(Basis::Sheet, 1.1, 2.0),
    ];
    assert_eq!(first_in_order(&all).unwrap().basis, Basis::Manual);
    assert_eq!(
        first_in_order(&[all[0].clone(), all[2].clone()])
            .unwrap()
            .basis,
        Basis::Sheet
    );
    let need = spec(Basis::Need, 0.5, 1.0);
    let before = [&all[2], &need, &all[0]].map(|spec| spec.basis);
    assert!(before.is_sorted(), "{before:?}");
    assert_eq!(first_in_order(&[]), None);
}

#[test]
fn a_spec_moves_the_bands_that_have_a_side() {
    let bands = [
        Band::below(1.0).on(Side::Below),
        Band::between(1.0, 5.0).on(Side::Within),
        Band::between(5.0, 100.0).on(Side::Above),
        Band::overload(),
    ];
    let moved = with_spec(&bands, &spec(Basis::Manual, 1.2, 1.8));
    assert_eq!((moved[0].low, moved[0].high), (None, Some(1.2)));
    assert_eq!((moved[1].low, moved[1].high), (Some(1.2), Some(1.8)));
    assert_eq!((moved[2].low, moved[2].high), (Some(1.8), Some(100.0)));
    assert_eq!(moved[3], Band::overload());
}

#[test]
fn a_spec_without_an_upper_limit_leaves_nothing_above() {
    let bands = [
        Band::below(12.0).on(Side::Below),
        Band::between(12.0, 15.0).on(Side::Within),
        Band::above(15.0).on(Side::Above),
    ];
    let open = Spec {
        high: None,
        ..spec(Basis::Manual, 12.4, 0.0)
    };
    let moved = with_spec(&bands, &open);
    assert!(!moved[2].takes_numbers());
    assert!(moved[1].holds(16.0));
}

#[test]
fn a_sheet_nobody_vouches_for_is_refused() {
    let sheet = "approver = \" \"\napproved = \"2026-11-25\"\ncitation = \"x\"\nspec = []";
    assert_eq!(Sheet::parse(sheet), Err(SheetError::NobodyVouches));
    let row = "approver = \"a\"\napproved = \"2026-11-25\"\ncitation = \"x\"\n\
               [[spec]]\nobservation = \"o\"\nlow = 2.0\nhigh = 1.0\nconditions = \"\"";
    assert_eq!(Sheet::parse(row), Err(SheetError::Limits("o".to_owned())));
}

fn line(measured: &Measured) -> String {
    let judgement = judge(measured).expect("a plain reading");
    receipt(&judgement, &measured.raw, measured.offset.as_ref())
        .expect("a number")
        .line()
}

#[test]
fn receipts_are_in_the_riders_own_unit() {
    let meter = Meter::cheap();
    let volts = [
        Band::below(12.4).on(Side::Below),
        Band::above(12.4).on(Side::Within),
    ];
    let battery = Measured::new(Raw::value(Kind::Voltage, 12.45, Some(0.01)), &volts, &meter);
    assert_eq!(
        line(&battery),
        "12.45 ± 0.08 V; spec at least 12.4; too close to call"
    );

    let judgement = judge(&battery).unwrap();
    assert_eq!(judgement.limit_in_question(), Some(12.4));
    assert_eq!(judgement.guarded(12.4), Some(Guarded::ConditionalFail));
    let written = receipt(&judgement, &battery.raw, None).unwrap();
    assert_eq!(written.causes[0].origin, Origin::Accuracy);

    let drop = [Band::below(0.5), Band::above(0.5)];
    let reading = |volts| Raw::value(Kind::Voltage, volts, Some(0.01));
    let lost = Measured {
        offset: Some(reading(11.0)),
        ..Measured::new(reading(12.4), &drop, &meter)
    };
    assert_eq!(line(&lost), "12.40 − 11.00 = 1.40 ± 0.04 V; at least 0.5");

    let kilo = Unit::named("kohm").unwrap();
    let coil = [Band::below(500.0), Band::above(500.0)];
    let raw = Raw::value(Kind::Resistance, 2400.0, Some(100.0)).said_in(kilo);
    assert_eq!(
        line(&Measured::new(raw, &coil, &meter)),
        "2.40 ± 0.07 kohm; at least 0.5"
    );
}

#[test]
fn a_warm_winding_is_brought_to_the_temperature_of_its_spec() {
    let bands = [
        Band::below(1.6).on(Side::Below),
        Band::between(1.6, 2.2).on(Side::Within),
        Band::above(2.2).on(Side::Above),
    ];
    let meter = Meter::rated(0.5, 0.0).with_contact(0.01);
    let raw = |ohms| Raw::value(Kind::Resistance, ohms, Some(0.01));
    let measured = Measured {
        offset: Some(raw(0.30)),
        winding: Some(Winding {
            at_celsius: 80.0,
            doubt: 5.0,
            spec_celsius: 20.0,
        }),
        ..Measured::new(raw(2.70), &bands, &meter)
    };
    assert_eq!(
        line(&measured),
        "(2.70 − 0.30 (leads)) × 0.809 (temperature) = 1.94 ± 0.05 ohm; spec 1.6 to 2.2; in range"
    );
}

#[test]
fn a_flow_is_worked_out_from_what_was_caught_and_how_long_it_took() {
    let ml = Unit::named("mL").unwrap();
    let volume = Raw::value(Kind::Volume, 0.2, Some(0.01)).said_in(ml);
    let duration = Raw::value(Kind::Duration, 15.0, Some(1.0));
    let meter = Meter::cheap();
    let caught = flow(&volume, &duration, &meter).expect("a flow");
    let bands = [Band::below(0.5), Band::above(0.5)];
    let measured = Measured::worked_out(caught, &bands, &meter);
    assert_eq!(line(&measured), "800 ± 70 mL/min; at least 500");
}
