//! Readings that must be asked about before they are used, and those that must not.

use floatbowl::quantity::{
    Band, Doubt, Judgement, Kind, Measured, Meter, Raw, Shown, Side, Verdict, judge,
};
use rstest::rstest;

fn winding() -> [Band; 4] {
    [
        Band::below(1.6).on(Side::Below),
        Band::between(1.6, 2.2).on(Side::Within),
        Band::above(2.2).on(Side::Above),
        Band::overload(),
    ]
}

fn supply() -> [Band; 2] {
    [
        Band::below(11.5).on(Side::Below),
        Band::between(11.5, 15.0).on(Side::Within),
    ]
}

fn ohms(value: f64, step: f64) -> Raw {
    Raw::value(Kind::Resistance, value, Some(step))
}

fn ask(raw: Raw, offset: Option<Raw>, bands: &[Band]) -> Result<Judgement, Doubt> {
    let meter = Meter::cheap();
    judge(&Measured {
        offset,
        ..Measured::new(raw, bands, &meter)
    })
}

#[rstest]
#[case::whole_number_ten_times_too_high(18.0, 1.0, Doubt::DecimalSlip { said: 18.0, meant: 1.8 })]
#[case::ten_times_too_low(0.18, 0.01, Doubt::DecimalSlip { said: 0.18, meant: 1.8 })]
#[case::a_prefix_too_much(1800.0, 100.0, Doubt::PrefixSlip { said: 1800.0, meant: 1.8 })]
#[case::a_lone_one(1.0, 1.0, Doubt::LoneOne)]
#[case::a_live_circuit(-3.0, 0.1, Doubt::LiveCircuit { value: -3.0 })]
fn ohms_to_ask_about(#[case] value: f64, #[case] step: f64, #[case] expected: Doubt) {
    let doubt = ask(ohms(value, step), None, &winding()).unwrap_err();
    assert_eq!(format!("{doubt:.6?}"), format!("{expected:.6?}"));
}

#[rstest]
#[case::point_lost(124.0, 1.0, Doubt::DecimalSlip { said: 124.0, meant: 12.4 })]
#[case::a_lone_one_on_too_low_a_range(1.0, 1.0, Doubt::LoneOne)]
#[case::probes_reversed(-12.4, 0.1, Doubt::ProbesReversed { value: -12.4 })]
fn volts_to_ask_about(#[case] value: f64, #[case] step: f64, #[case] expected: Doubt) {
    let raw = Raw::value(Kind::Voltage, value, Some(step));
    assert_eq!(ask(raw, None, &supply()), Err(expected));
}

// Common practice, no source: a cheap AC range shows a battery as 2.2 times its voltage.
#[test]
fn a_battery_read_on_the_ac_range() {
    let raw = Raw::value(Kind::Voltage, 27.6, Some(0.1));
    let doubt = ask(raw, None, &supply()).unwrap_err();
    assert!(matches!(doubt, Doubt::SetToAlternating { meant, .. } if (meant - 12.4).abs() < 0.1));
}

#[test]
fn the_leads_explain_more_than_the_reading() {
    let doubt = ask(ohms(0.4, 0.1), Some(ohms(1.6, 0.1)), &winding());
    assert_eq!(
        doubt,
        Err(Doubt::NegativeAfterCorrection {
            raw: 0.4,
            offset: 1.6
        })
    );
}

#[test]
fn the_leads_are_as_large_as_the_reading() {
    let doubt = ask(ohms(1.6, 0.1), Some(ohms(1.6, 0.1)), &winding());
    assert_eq!(
        doubt,
        Err(Doubt::OffsetAsLargeAsReading {
            raw: 1.6,
            offset: 1.6
        })
    );
    // A good joint has next to nothing, and that is no reason to ask.
    let joint = [Band::below(1.0), Band::above(1.0)];
    let judgement = ask(ohms(0.4, 0.1), Some(ohms(0.4, 0.1)), &joint).unwrap();
    assert_eq!(judgement.verdict, Verdict::Clear(0));
}

#[test]
fn leads_that_show_an_overload_are_broken() {
    let open = Raw::shown(Kind::Resistance, Shown::Overload);
    assert_eq!(
        ask(ohms(1.8, 0.1), Some(open), &winding()),
        Err(Doubt::LeadsOpen)
    );
}

#[test]
fn an_overload_is_no_voltage() {
    let over = Raw::shown(Kind::Voltage, Shown::Overload);
    let doubt = Doubt::OverloadForNumber {
        asked: Kind::Voltage,
    };
    assert_eq!(ask(over, None, &supply()), Err(doubt));
}

#[test]
fn a_rider_who_insists_is_believed() {
    let (bands, meter) = (winding(), Meter::cheap());
    let measured = Measured {
        offset: Some(ohms(0.3, 0.1)),
        confirmed: true,
        ..Measured::new(ohms(18.0, 1.0), &bands, &meter)
    };
    assert_eq!(judge(&measured).unwrap().verdict, Verdict::Clear(2));
}

#[test]
fn bands_without_limits_judge_no_number() {
    assert_eq!(
        ask(ohms(1.8, 0.1), None, &[Band::overload()]),
        Err(Doubt::NothingToJudgeBy)
    );
}

#[rstest]
#[case(1.0, 0.1)]
#[case(17.8, 0.1)]
#[case(1.8, 0.1)]
#[case(0.6, 0.1)]
fn plain_readings_are_not_questioned(#[case] value: f64, #[case] step: f64) {
    assert!(ask(ohms(value, step), None, &winding()).is_ok());
}
