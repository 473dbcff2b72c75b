//! How replies look in a terminal, as whole pages.

use floatbowl::channel::terminal::render::{Look, Page, render};
use floatbowl::knowledge::model::ObservationKind;
use floatbowl::quantity::Kind;
use floatbowl::reply::{Ask, Choice, Line, Means, Next, NextKind, Phase, Reply};

fn reply(lines: Vec<Line>) -> Reply {
    Reply {
        turn: 3,
        phase: Phase::Testing,
        lines,
        asks: vec![],
        choices: vec![],
        cautions: vec![],
        hazards: vec![],
        judgements: vec![],
        suspects: vec![],
        ruled_out: vec![],
        conflict: None,
        step: Next {
            kind: NextKind::Ask,
            id: None,
        },
        minutes_spent: 0.0,
        minutes_left: 0.0,
    }
}

fn choices(pairs: &[(&str, &str)]) -> Vec<Choice> {
    let choice = |(id, words): &(&str, &str)| Choice {
        id: (*id).to_owned(),
        words: (*words).to_owned(),
        means: Means::Other,
    };
    pairs.iter().map(choice).collect()
}

fn ask(kind: ObservationKind, quantity: Option<Kind>, outcomes: &[(&str, &str)]) -> Ask {
    let outcome = |(id, words): &(&str, &str)| ((*id).into(), (*words).to_owned());
    Ask {
        observation: "example".into(),
        kind,
        quantity,
        outcomes: outcomes.iter().map(outcome).collect(),
    }
}

fn plain(width: usize) -> Page {
    Page::new(width, Look::Plain)
}

fn measurement() -> Reply {
    let mut reply = reply(vec![
        Line::Receipt("Understood: the pump clicks.".to_owned()),
        Line::Caution("Keep flames and anything that sparks away, and the doors open.".to_owned()),
        Line::Caution("Wear eye protection and gloves.".to_owned()),
        Line::Judgement("0.9 ohm shown - 0.3 ohm of the leads = 0.6 ohm; the range is 0.5 to 3 ohm: good.".to_owned()),
        Line::Plain("If the battery sags under load, nothing after it can be judged.".to_owned()),
        Line::Instruction("Measure the battery while a helper holds the starter button for three seconds.".to_owned()),
        Line::Steps(vec![
            "Set the meter to DC volts, 20 V range.".to_owned(),
            "Red lead on the plus terminal, black lead on the minus terminal; hold them on the posts themselves and not on the cable ends.".to_owned(),
        ]),
        Line::Question("What does the meter show while the starter turns?".to_owned()),
    ]);
    let outcomes = [("battery-good", "at least 9.6 V"), ("battery-weak", "less")];
    reply.asks = vec![ask(
        ObservationKind::Measurement,
        Some(Kind::Voltage),
        &outcomes,
    )];
    reply.choices = choices(&[("cannot", "I cannot do that"), ("why", "Why this?")]);
    reply
}

#[test]
fn a_measurement_is_asked_with_lettered_choices() {
    insta::assert_snapshot!(render(&measurement(), plain(80)));
}

#[test]
fn a_narrow_window_breaks_lines_and_loses_nothing() {
    insta::assert_snapshot!(render(&measurement(), plain(34)));
}

#[test]
fn bold_and_colour_are_added_and_take_no_room() {
    let rich = render(&measurement(), Page::new(80, Look::Rich));
    assert_eq!(
        anstream::adapter::strip_str(&rich).to_string(),
        render(&measurement(), plain(80))
    );
    insta::assert_snapshot!(rich.replace('\u{1b}', "ESC"));
}

#[test]
fn every_line_fits_its_page() {
    for width in 24..=100 {
        let text = render(&measurement(), plain(width));
        for line in text.lines() {
            let columns = textwrap::core::display_width(line);
            assert!(columns <= width, "{columns} columns of {width}: {line}");
        }
    }
}

#[test]
fn a_danger_comes_first_wherever_it_stands() {
    let mut reply = reply(vec![
        Line::Plain("We stop here until this is over.".to_owned()),
        Line::Danger("Get away from the bike. Touch no switch, and let nobody near it with a flame or a running engine.".to_owned()),
        Line::Danger("Call the fire service.".to_owned()),
        Line::Question("Is it over, and is everybody well?".to_owned()),
    ]);
    reply.choices = choices(&[("safe", "Yes, it is over"), ("not-safe", "No")]);
    let text = render(&reply, plain(60));
    assert!(text.starts_with("+== DANGER"));
    insta::assert_snapshot!(text);
}

#[test]
fn two_observations_and_the_choices_stand_apart() {
    let mut reply = reply(vec![Line::Question("Two things at once:".to_owned())]);
    reply.asks = vec![
        ask(
            ObservationKind::Choice,
            None,
            &[("hums", "The pump hums"), ("silent", "It stays silent")],
        ),
        ask(
            ObservationKind::Choice,
            None,
            &[("lamp-on", "The lamp is lit"), ("lamp-off", "It is dark")],
        ),
    ];
    reply.choices = choices(&[("skip", "Leave it for now")]);
    insta::assert_snapshot!(render(&reply, plain(60)));
}

#[test]
fn wide_letters_and_long_words_keep_the_frame_straight() {
    let text = "燃料が漏れています。https://example.invalid/a-very-long-address-that-does-not-fit-into-one-line";
    let reply = reply(vec![Line::Danger(text.to_owned())]);
    let text = render(&reply, plain(40));
    let framed = text.lines().take_while(|line| !line.is_empty());
    for line in framed {
        assert_eq!(textwrap::core::display_width(line), 40, "{line}");
    }
}

#[test]
fn pasted_control_characters_do_not_reach_the_terminal() {
    let text = "You said: \u{1b}[2J\u{7}gone\r\u{9b}31m\tand back";
    let page = render(&reply(vec![Line::Receipt(text.to_owned())]), plain(80));
    assert!(
        !page.chars().any(|c| c.is_control() && c != '\n'),
        "{page:?}"
    );
    assert!(page.contains("gone"));
}

#[test]
fn the_end_asks_for_nothing() {
    let mut reply = reply(vec![Line::Plain("Ride safely.".to_owned())]);
    reply.phase = Phase::Closed;
    assert_eq!(render(&reply, plain(80)), "Ride safely.\n");
}
