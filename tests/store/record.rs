//! The stored form: every shape ever written is kept in `tests/records/` and still read.

use crate::samples::{at, replies, reply, samples};
use floatbowl::conversation::event::{Event, Incoming, Logged};
use floatbowl::reply::Phase;
use floatbowl::store::problem::StoreError;
use floatbowl::store::record::{VERSION, read_event, read_reply, write_event, write_reply};
use proptest::prelude::*;
use std::fs;
use std::path::PathBuf;

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
        Event::ForgetAsked => 27,
        Event::Nudged => 28,
        Event::Rested => 29,
        Event::ConsentAsked => 30,
        Event::Consented(_) => 31,
        Event::Corrected(_) => 32,
        Event::Confirmed(_) => 33,
        Event::PowerTold(_) => 34,
    }
}

const KINDS_OF_EVENT: usize = 35;

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
