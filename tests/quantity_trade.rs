//! Facts of the trade: common practice, no source.

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
