//! Five conversations from the complaint to the end, with what is said written down.

use crate::bike::{Bike, KNOWLEDGE};
use floatbowl::conversation::event::{Incoming, Logged, Terms};
use floatbowl::conversation::state::GateAnswer;
use floatbowl::conversation::{State, advance, open};
use floatbowl::reply::{Line, Means, NextKind, Phase};
use rstest::rstest;

/// More messages than any of these conversations may take.
const MOST: usize = 80;

fn to_the_end(bike: &mut Bike) {
    for _ in 0..MOST {
        if matches!(bike.reply.phase, Phase::Closed | Phase::HandedOver) {
            return;
        }
        bike.answer();
    }
    panic!("no end\n{}", bike.transcript);
}

fn repaired_are(bike: &Bike, faults: &[&str]) {
    let mut repaired: Vec<String> = bike
        .state
        .repaired
        .iter()
        .map(ToString::to_string)
        .collect();
    repaired.sort();
    let mut faults = faults.to_vec();
    faults.sort_unstable();
    assert_eq!(repaired, faults, "{}", bike.transcript);
    assert_eq!(bike.reply.phase, Phase::Closed, "{}", bike.transcript);
}

#[rstest]
#[case::fuse(&["circuit-fuse-blown"], "it cranks but does not start and the pump is silent")]
#[case::worn_pump(&["pump-worn"], "it runs out of breath at full throttle, the pump hums")]
#[case::filter_and_battery(&["filter-clogged", "battery-flat"], "it cranks slowly and does not start")]
#[case::vent(&["vent-blocked"], "it dies after ten minutes, when I open the tank cap it runs again")]
fn the_named_faults_and_no_others_are_repaired(#[case] faults: &[&str], #[case] complaint: &str) {
    let mut bike = Bike::with(faults, true);
    bike.say(complaint);
    to_the_end(&mut bike);
    insta::assert_snapshot!(faults.join("-and-"), bike.transcript);
    repaired_are(&bike, faults);
}

#[test]
fn a_danger_in_the_middle_stops_all_work_until_it_is_over() {
    let mut bike = Bike::with(&["circuit-fuse-blown"], true);
    bike.say("it cranks but does not start and the pump is silent");
    while bike.reply.phase != Phase::Testing {
        bike.answer();
    }
    for words in ["fuel is leaking out of the hose", "what next?", "no"] {
        bike.say(words);
        assert_eq!(bike.reply.phase, Phase::Halted, "{}", bike.transcript);
        assert!(
            matches!(bike.reply.lines.first(), Some(Line::Danger(_))),
            "{}",
            bike.transcript
        );
        assert_eq!(bike.reply.step.kind, NextKind::Ask);
        assert!(bike.reply.asks.is_empty());
    }
    to_the_end(&mut bike);
    insta::assert_snapshot!("danger-in-the-middle", bike.transcript);
    repaired_are(&bike, &["circuit-fuse-blown"]);
}

/// The tap closed because the assistant said so is not the fault that keeps the fuel back.
#[test]
fn a_tap_closed_to_make_a_leak_safe_is_no_finding() {
    let tap = |bike: &Bike| {
        bike.state
            .found_since_repair(&"tap-position".into())
            .is_some()
    };
    let mut bike = Bike::with(&["circuit-fuse-blown"], true);
    bike.say("it cranks but does not start");
    let mut calm = bike.clone();
    bike.say("fuel is leaking out of the hose");
    bike.say("ok the tap is off");
    assert!(!tap(&bike), "{}", bike.transcript);
    assert_eq!(bike.reply.phase, Phase::Halted, "{}", bike.transcript);
    assert!(bike.transcript.contains("part of making it safe"));
    calm.say("ok the tap is off");
    assert!(tap(&calm), "{}", calm.transcript);
}

/// Whoever smells fuel is asked whether all of it is closed before anything is switched on.
#[test]
fn a_smell_of_fuel_stands_before_the_key() {
    let mut bike = Bike::with(&["circuit-fuse-blown"], true);
    bike.say("it cranks but does not start");
    while bike.reply.step.kind != NextKind::Observe {
        bike.answer();
    }
    bike.say("it smells of petrol");
    assert!(
        bike.state.gates.get(&"fuel-closed".into()) == Some(&GateAnswer::Reopened),
        "{}",
        bike.transcript
    );
}

/// What stands after it in the list is not what it was read of.
#[test]
fn a_reading_with_its_moment_is_of_what_is_measured_then() {
    let mut bike = Bike::with(&["circuit-fuse-blown"], true);
    bike.say("battery 12.6 rested overnight, 10.4 cranking, fuses all look fine");
    for id in ["battery-rest-voltage", "battery-cranking-voltage"] {
        let found = bike.state.found_since_repair(&id.into());
        assert!(
            found.is_some_and(|found| found.measured.is_some()),
            "{id}\n{}",
            bike.transcript
        );
    }
}

/// What a rider says of the danger is never "no answer"; only a plain yes ends it.
#[test]
fn what_is_said_in_a_danger_is_answered_with_what_ends_it() {
    let mut bike = Bike::with(&["circuit-fuse-blown"], true);
    bike.say("fuel is leaking out of the hose");
    bike.say("i closed it");
    assert_eq!(bike.reply.phase, Phase::Halted, "{}", bike.transcript);
    assert!(!bike.transcript.contains("could not make out"));
    assert!(bike.transcript.contains("plain yes"));
}

/// The complaint or fact of history that alone is asked about.
fn complaint_asked(bike: &Bike) -> Option<String> {
    let [ask] = bike.reply.asks.as_slice() else {
        return None;
    };
    let no = format!("{}-no", ask.observation);
    let plain = ask.outcomes.iter().any(|(id, _)| id.as_str() == no);
    plain.then(|| ask.observation.to_string())
}

/// "Does it backfire?" is answered with a word, typed, as any rider would.
#[rstest]
#[case::no("no")]
#[case::never("nah, never")]
#[case::yes("yes it does sometimes")]
fn a_typed_word_answers_a_question_about_a_complaint(#[case] word: &str) {
    let mut bike = Bike::with(&["filter-clogged"], true);
    bike.say("it cranks but does not start");
    let mut answered = 0;
    for _ in 0..MOST {
        let asked = complaint_asked(&bike);
        let mut choices = bike.reply.choices.iter();
        if asked.is_some() {
            bike.say(word);
            // A result that does not sit well with the others is asked for once more.
            let heard = complaint_asked(&bike) != asked || bike.reply.conflict.is_some();
            assert!(heard, "{}", bike.transcript);
            answered += 1;
        } else if choices.any(|choice| choice.means == Means::Skip) {
            bike.say("skip");
        } else if matches!(bike.reply.phase, Phase::Closed | Phase::HandedOver) {
            break;
        } else {
            bike.answer();
        }
    }
    assert!(answered > 4, "{answered}\n{}", bike.transcript);
}

/// The kinds of bike are listed with numbers, so a number picks one, whatever the channel.
#[rstest]
#[case::digit("1", Some("gravity-manual"))]
#[case::number("number two", Some("gravity-vacuum"))]
#[case::ordinal("the third one", Some("injected"))]
#[case::none("40", None)]
fn the_kind_of_bike_is_picked_by_its_number(#[case] word: &str, #[case] system: Option<&str>) {
    let (mut events, _) = open(&Terms::default(), &KNOWLEDGE);
    let mut state = State::fold(&[]);
    for said in [
        "it cranks but does not start",
        "nothing changed",
        "yes",
        word,
    ] {
        for event in events {
            state.apply(Logged { turn: 0, event });
        }
        (events, _) = advance(&state, &Incoming::Text(said.to_owned()), &KNOWLEDGE);
    }
    for event in events {
        state.apply(Logged { turn: 0, event });
    }
    let picked = state.system.as_ref().map(ToString::to_string);
    assert_eq!(picked.as_deref(), system, "{word}");
}
