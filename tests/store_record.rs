//! The stored form: every shape ever written is kept in `tests/records/` and still read.

use floatbowl::conversation::event::{
    Declined, Display, Ending, Event, Found, HandOver, Incoming, Logged, Measured, MeterTold,
    Query, Shown, SpecTold, Step, Target, Terms, Topic,
};
use floatbowl::knowledge::model::ObservationKind;
use floatbowl::quantity::Kind;
use floatbowl::reply::{Ask, Choice, Judged, Line, Means, Phase, Reply, Suspect};
use floatbowl::store::problem::StoreError;
use floatbowl::store::record::{VERSION, read_event, read_reply, write_event, write_reply};
use jiff::Timestamp;
use proptest::prelude::*;
use std::fs;
use std::path::PathBuf;

fn at() -> Timestamp {
    Timestamp::from_millisecond(1_700_000_000_123).unwrap()
}

fn shown(value: f64) -> Shown {
    Shown {
        quantity: Kind::Voltage,
        value: Some(value),
        low: None,
        high: None,
        resolution: Some(0.01),
        unit: "V".to_owned(),
        display: None,
    }
}

fn overload() -> Shown {
    Shown {
        quantity: Kind::Resistance,
        value: None,
        low: Some(2000.0),
        high: Some(f64::INFINITY),
        resolution: None,
        unit: "ohm".to_owned(),
        display: Some(Display::Overload),
    }
}

fn measured() -> Measured {
    Measured {
        raw: shown(12.34),
        leads: Some(overload()),
    }
}

/// The position of each kind of event; a new kind does not compile until it has one, and a sample.
fn position(event: &Event) -> usize {
    match event {
        Event::Opened(_) => 0,
        Event::Heard(_) => 1,
        Event::Found(_) => 2,
        Event::LeadsRead(_) => 3,
        Event::MeterTold(_) => 4,
        Event::SpecTold(_) => 5,
        Event::SystemTold(_) => 6,
        Event::KitTold { .. } => 7,
        Event::Settled(_) => 8,
        Event::HazardRaised(_) => 9,
        Event::HazardCleared(_) => 10,
        Event::GateAnswered { .. } => 11,
        Event::Asked(_) => 12,
        Event::Queried(_) => 13,
        Event::Declined { .. } => 14,
        Event::AccessOpened(_) => 15,
        Event::Repaired(_) => 16,
        Event::Proved { .. } => 17,
        Event::Refitted => 18,
        Event::Spent(_) => 19,
        Event::HandedOver(_) => 20,
        Event::Closed(_) => 21,
        Event::Undone(_) => 22,
        Event::StartedOver => 23,
        Event::GateReopened(_) => 24,
        Event::Reconsidered => 25,
        Event::Stopping => 26,
    }
}

const KINDS_OF_EVENT: usize = 27;

fn told() -> Vec<Event> {
    vec![
        Event::Opened(Terms {
            system: Some("pump-carb".into()),
            kit: Some(vec!["multimeter".into(), "spare-hose".into()]),
            round_trip_minutes: 240.0,
            bike: Some("an invented bike".to_owned()),
            knowledge: "r1".to_owned(),
        }),
        Event::Heard(Incoming::Text("it's \"dead\"\n\u{1f3cd}".to_owned())),
        Event::Heard(Incoming::Choose("hums".to_owned())),
        Event::Found(Found {
            observation: "pump-sound".into(),
            weights: vec![("hums".into(), 0.75), ("silent".into(), 0.25)],
            strength: 0.5,
            measured: None,
            asked: true,
        }),
        Event::Found(Found {
            observation: "battery-rest".into(),
            weights: vec![("good".into(), 0.1 + 0.2)],
            strength: 1.0,
            measured: Some(measured()),
            asked: false,
        }),
        Event::LeadsRead(shown(0.3)),
        Event::LeadsRead(Shown {
            display: Some(Display::Beep),
            ..overload()
        }),
        Event::LeadsRead(Shown {
            display: Some(Display::NoBeep),
            ..overload()
        }),
        Event::MeterTold(MeterTold {
            gain: 0.005,
            digits: 2.0,
        }),
        Event::SpecTold(SpecTold {
            observation: "pump-winding".into(),
            low: Some(0.5),
            high: None,
        }),
        Event::SystemTold("injected".into()),
        Event::KitTold {
            kit: "helper".into(),
            has: false,
        },
        Event::Settled(Topic::Complaint),
        Event::Settled(Topic::Background),
        Event::Settled(Topic::System),
        Event::Settled(Topic::Kit),
        Event::HazardRaised("fuel-leak".into()),
        Event::HazardCleared("fuel-leak".into()),
        Event::GateAnswered {
            gate: "outdoors".into(),
            holds: true,
        },
        Event::GateReopened("outdoors".into()),
        Event::Reconsidered,
        Event::Stopping,
    ]
}

fn asked() -> Vec<Event> {
    let steps = [
        Step::Tell(Topic::Complaint),
        Step::Surroundings,
        Step::Clear {
            gates: vec!["engine-cold".into()],
            target: Target::Observation("pump-flow".into()),
        },
        Step::Safe("fire".into()),
        Step::Observe(vec!["pump-sound".into(), "pump-flow".into()]),
        Step::Repair("filter-clogged".into()),
        Step::Prove("filter-clogged".into()),
        Step::Refit,
        Step::HandOver(HandOver::Asked),
        Step::HandOver(HandOver::ShopOnly("tank-rust".into())),
        Step::HandOver(HandOver::NotWorth),
        Step::HandOver(HandOver::Unexplained),
        Step::HandOver(HandOver::Hazard("battery-danger".into())),
        Step::HandOver(HandOver::UnknownSystem),
        Step::Stop,
    ];
    steps.into_iter().map(Event::Asked).collect()
}

fn done() -> Vec<Event> {
    vec![
        Event::Queried(Query::Reading {
            observation: "battery-rest".into(),
            measured: measured(),
            doubt: "decimal-slip".to_owned(),
        }),
        Event::Queried(Query::Repeat("battery-rest".into())),
        Event::Declined {
            target: Target::Observation("pump-flow".into()),
            reason: Declined::Cannot,
        },
        Event::Declined {
            target: Target::Repair("filter-clogged".into()),
            reason: Declined::Skipped,
        },
        Event::Declined {
            target: Target::Proof("filter-clogged".into()),
            reason: Declined::Unsure,
        },
        Event::Declined {
            target: Target::Observation("spark".into()),
            reason: Declined::Gated,
        },
        Event::AccessOpened("seat".into()),
        Event::Repaired("filter-clogged".into()),
        Event::Proved {
            fault: "filter-clogged".into(),
            gone: true,
        },
        Event::Refitted,
        Event::Spent(7.5),
        Event::HandedOver(HandOver::Asked),
        Event::Closed(Ending::Solved),
        Event::Closed(Ending::Passed),
        Event::Closed(Ending::Stopped),
        Event::Undone(3),
        Event::StartedOver,
    ]
}

fn samples() -> Vec<Logged> {
    let events = [told(), asked(), done()].concat();
    let logged = (0..)
        .zip(events)
        .map(|(turn, event)| Logged { turn, event });
    logged.collect()
}

fn lines() -> Vec<Line> {
    vec![
        Line::Danger("away".to_owned()),
        Line::Caution("gloves".to_owned()),
        Line::Receipt("understood".to_owned()),
        Line::Judgement("12.3 V - 0.1 V".to_owned()),
        Line::Plain("prose".to_owned()),
        Line::Instruction("do this".to_owned()),
        Line::Steps(vec!["first".to_owned(), "second".to_owned()]),
        Line::Question("well?".to_owned()),
    ]
}

fn meanings() -> Vec<Choice> {
    let all = [
        Means::Yes,
        Means::No,
        Means::Done,
        Means::Cannot,
        Means::Unsure,
        Means::Skip,
        Means::Why,
        Means::Undo,
        Means::Stop,
        Means::Other,
    ];
    let choice = |means| Choice {
        id: format!("{means:?}"),
        words: "words".to_owned(),
        means,
    };
    all.into_iter().map(choice).collect()
}

fn asks() -> Vec<Ask> {
    let all = [
        ObservationKind::Symptom,
        ObservationKind::History,
        ObservationKind::Choice,
        ObservationKind::Measurement,
        ObservationKind::Proof,
    ];
    let ask = |kind| Ask {
        observation: "pump-sound".into(),
        kind,
        quantity: Some(Kind::Flow),
        outcomes: vec![("hums".into(), "It hums".to_owned())],
    };
    all.into_iter().map(ask).collect()
}

fn judged(kind: Kind) -> Judged {
    Judged {
        observation: "battery-rest".into(),
        raw: Some(12.34),
        offset: None,
        corrected: Some(12.34),
        unit: kind.unit(),
        uncertainty: Some(0.06),
        low: Some(12.4),
        high: Some(f64::INFINITY),
        weights: vec![("good".into(), 0.3), ("weak".into(), 0.7)],
        verdict: "too close to call".to_owned(),
    }
}

fn reply(phase: Phase) -> Reply {
    Reply {
        turn: 4,
        phase,
        lines: lines(),
        asks: asks(),
        choices: meanings(),
        cautions: vec!["gloves".into()],
        hazards: vec!["fire".into()],
        judgements: Kind::ALL.map(judged).to_vec(),
        suspects: vec![Suspect {
            fault: "filter-clogged".into(),
            part: "fuel-filter".into(),
            probability: 0.42,
        }],
        ruled_out: vec!["empty-tank".into()],
        conflict: Some("pump-flow".into()),
        step: Step::Observe(vec!["pump-flow".into()]),
        minutes_spent: 12.5,
        minutes_left: f64::INFINITY,
    }
}

fn replies() -> Vec<Reply> {
    let all = [
        Phase::Intake,
        Phase::Surroundings,
        Phase::Profile,
        Phase::Testing,
        Phase::Repair,
        Phase::Proof,
        Phase::Refit,
        Phase::Halted,
        Phase::HandedOver,
        Phase::Closed,
    ];
    all.into_iter().map(reply).collect()
}

/// The records kept under a name, one a line. With `KEEP_RECORDS` set, a file that is not there yet
/// is made; one that is there is never changed.
fn kept(name: &str, written: &[Vec<u8>]) -> Vec<String> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/records");
    let path = folder.join(name);
    if std::env::var_os("KEEP_RECORDS").is_some() && !path.exists() {
        fs::create_dir_all(&folder).unwrap();
        fs::write(&path, [written.join(&b'\n'), vec![b'\n']].concat()).unwrap();
    }
    let text = fs::read_to_string(&path).unwrap();
    text.lines().map(str::to_owned).collect()
}

#[test]
fn every_kind_of_event_has_a_sample() {
    let mut positions: Vec<usize> = samples().iter().map(|l| position(&l.event)).collect();
    positions.dedup();
    positions.sort_unstable();
    positions.dedup();
    assert_eq!(positions, (0..KINDS_OF_EVENT).collect::<Vec<_>>());
}

#[test]
fn events_of_version_1_are_read_and_written_as_ever() {
    let samples = samples();
    let written: Vec<Vec<u8>> = samples.iter().map(|l| write_event(l, at())).collect();
    let lines = kept("v1-events.jsonl", &written);
    assert_eq!(lines.len(), samples.len());
    for ((line, written), sample) in lines.iter().zip(&written).zip(samples) {
        assert_eq!(line.as_bytes(), written, "{line}");
        assert_eq!(read_event(line.as_bytes(), "x").unwrap(), (at(), sample));
    }
}

#[test]
fn replies_of_version_1_are_read_and_written_as_ever() {
    let samples = replies();
    let written: Vec<Vec<u8>> = samples.iter().map(|r| write_reply(r, at())).collect();
    let lines = kept("v1-replies.jsonl", &written);
    assert_eq!(lines.len(), samples.len());
    for ((line, written), sample) in lines.iter().zip(&written).zip(samples) {
        assert_eq!(line.as_bytes(), written, "{line}");
        assert_eq!(read_reply(line.as_bytes(), "x").unwrap(), (at(), sample));
    }
}

#[test]
fn a_record_of_a_newer_version_is_refused_whatever_else_is_in_it() {
    let newer = format!(r#"{{"v":{},"moment":"tomorrow"}}"#, VERSION + 1);
    let error = read_event(newer.as_bytes(), "event 3").unwrap_err();
    let place = "event 3".to_owned();
    let expected = StoreError::Newer {
        place,
        found: VERSION + 1,
        known: VERSION,
    };
    assert_eq!(error, expected);
}

#[test]
fn what_is_no_record_is_damage() {
    let whole = String::from_utf8(write_event(&samples()[0], at())).unwrap();
    let broken = [
        String::new(),
        "{".to_owned(),
        "null".to_owned(),
        r#"{"at":1}"#.to_owned(),
        whole[..whole.len() - 1].to_owned(),
        whole.replace("opened", "0pened"),
        whole.replace("\"turn\"", "\"torn\""),
        whole.replace("\"bike\"", "\"extra\":1,\"bike\""),
    ];
    for text in broken {
        let error = read_event(text.as_bytes(), "event 3").unwrap_err();
        assert!(matches!(error, StoreError::Damaged { .. }), "{text}");
    }
}

#[test]
fn a_unit_nothing_is_kept_in_is_damage() {
    let whole = String::from_utf8(write_reply(&reply(Phase::Intake), at())).unwrap();
    let strange = whole.replace(r#""unit":"kPa""#, r#""unit":"psi""#);
    assert_ne!(whole, strange);
    let error = read_reply(strange.as_bytes(), "reply 3").unwrap_err();
    assert!(error.to_string().contains("psi"), "{error}");
}

proptest! {
    #[test]
    fn any_number_comes_back_bit_for_bit(bits in any::<u64>()) {
        let number = f64::from_bits(bits);
        let logged = Logged { turn: 0, event: Event::Spent(number) };
        let (_, back) = read_event(&write_event(&logged, at()), "x").unwrap();
        let Event::Spent(back) = back.event else { panic!("another event") };
        prop_assert!(back.to_bits() == bits || (back.is_nan() && number.is_nan()));
    }

    #[test]
    fn any_text_comes_back(text in any::<String>()) {
        let logged = Logged { turn: 0, event: Event::Heard(Incoming::Text(text)) };
        let (_, back) = read_event(&write_event(&logged, at()), "x").unwrap();
        prop_assert_eq!(back, logged);
    }
}
