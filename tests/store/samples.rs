//! One of everything that can be stored.

use floatbowl::conversation::event::{
    Correction, Declined, Display, Ending, Event, Found, HandOver, Incoming, Logged, Measured,
    MeterTold, Query, Shown, SpecTold, Step, Target, Terms, Topic,
};
use floatbowl::knowledge::model::ObservationKind;
use floatbowl::quantity::{Circumstances, Kind, Warmth};
use floatbowl::reply::{Ask, Choice, Judged, Line, Means, Next, NextKind, Phase, Reply, Suspect};
use jiff::Timestamp;

pub fn at() -> Timestamp {
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
        over: Some(shown(10.0)),
        other: Some(shown(1.234)),
        under: Circumstances {
            rest: Some(1800.0),
            warmth: Some(Warmth {
                celsius: 60.0,
                doubt: 25.0,
            }),
            loaded: Some(false),
            unsure: true,
        },
        confirmed: true,
    }
}

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
            celsius: Some(20.0),
        }),
        Event::PowerTold(75_000.0),
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
        Event::Queried(Query::Closer),
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
        Event::Closed(Ending::Stopped),
        Event::Undone(3),
        Event::StartedOver,
        Event::ForgetAsked,
        Event::Nudged,
        Event::Rested,
        Event::ConsentAsked,
        Event::Consented(true),
        Event::Corrected(Correction {
            turn: 3,
            meant: vec![("pump-sound".into(), "hums".into())],
            note: "\"purrs\" is a hum".to_owned(),
        }),
        Event::Confirmed(vec!["filter-clogged".into()]),
        Event::Confirmed(vec![]),
    ]
}

pub fn samples() -> Vec<Logged> {
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

pub fn reply(phase: Phase) -> Reply {
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
        step: Next {
            kind: NextKind::Observe,
            id: Some("pump-flow".to_owned()),
        },
        minutes_spent: 12.5,
        minutes_left: f64::INFINITY,
    }
}

pub fn replies() -> Vec<Reply> {
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
