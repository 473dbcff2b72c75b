//! Buttons, menus and forms: the rider's answer, once, within Discord's time.

use std::time::Duration;

use crate::fake::failure::Failure;
use crate::stage::Stage;

/// A thread at the surroundings checklist; the message with its buttons.
async fn at_the_checklist(stage: &Stage) -> (u64, u64) {
    let thread = stage.begun("it cranks but will not start").await;
    let checklist = stage.say(thread, "nothing changed").await;
    let labels = labels(stage, checklist);
    assert!(
        labels.contains(&"Yes, all of that".to_owned()),
        "{labels:?}"
    );
    (thread, checklist)
}

fn labels(stage: &Stage, message: u64) -> Vec<String> {
    stage.fake.read(|world| {
        let message = world.live(message).expect("it is there");
        let buttons = message.buttons().into_iter();
        buttons.map(|(label, _)| label.to_owned()).collect()
    })
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_press_is_an_answer_and_closes_its_question() {
    let mut stage = Stage::new().await;
    let (thread, checklist) = at_the_checklist(&stage).await;
    let said = stage.count(thread);
    stage
        .fake
        .press_label(checklist, stage.rider, "Yes, all of that");
    stage.answers(thread, said + 1).await;
    let closed = |world: &crate::fake::world::World| {
        let message = world.live(checklist).expect("it is there");
        message.buttons().is_empty() && message.content().ends_with("→ Yes, all of that")
    };
    stage
        .fake
        .wait_until("the question to be closed", closed)
        .await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_question_answered_in_words_can_no_longer_be_pressed() {
    let mut stage = Stage::new().await;
    let (thread, checklist) = at_the_checklist(&stage).await;
    stage.say(thread, "yes to all of it").await;
    let said = stage.count(thread);
    let act = stage
        .fake
        .press_label(checklist, stage.rider, "No, not all of it");
    assert!(stage.answer(act).await.contains("answered already"));
    assert_eq!(stage.count(thread), said);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_press_delivered_twice_is_one_answer() {
    let mut stage = Stage::new().await;
    let (thread, checklist) = at_the_checklist(&stage).await;
    let said = stage.count(thread);
    stage
        .fake
        .press_label(checklist, stage.rider, "Yes, all of that");
    stage.answers(thread, said + 1).await;
    stage.fake.repeat_event("INTERACTION_CREATE");
    stage.say(thread, "why?").await;
    assert_eq!(stage.count(thread), said + 2);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_answer_can_be_typed_into_a_form() {
    let mut stage = Stage::without_content().await;
    let bot = stage.fake.application();
    let text = format!("<@{bot}> it cranks but will not start");
    let thread = stage.fake.say(stage.channel, stage.rider, &text);
    let question = stage.answers(thread, 2).await;
    stage
        .fake
        .press_label(question, stage.rider, "Answer in words");
    let form = |world: &crate::fake::world::World| world.last_modal(stage.rider).map(|_| ());
    stage.fake.wait_for("a form", form).await;
    let id = stage.fake.read(|world| {
        let modal = world.last_modal(stage.rider).expect("a form");
        modal["custom_id"].as_str().expect("an id").to_owned()
    });
    stage.fake.submit_modal(
        stage.rider,
        &id,
        &[("said", "it sat outside in the rain for a week")],
    );
    let reply = stage.answers(thread, 3).await;
    assert!(stage.text(reply).contains("rain"), "{}", stage.text(reply));
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_reading_is_typed_into_a_form_with_its_unit_and_leads() {
    let mut stage = Stage::new().await;
    let complaint = "it cranks but will not start, electric pump and carburettor, pump is silent";
    let thread = stage.begun(complaint).await;
    stage.say(thread, "nothing changed").await;
    stage.say(thread, "yes to all of it").await;
    let mut last = stage.say(thread, "I have everything").await;
    for _ in 0..40 {
        if labels(&stage, last).contains(&"Type the reading".to_owned()) {
            break;
        }
        // A condition of the step is confirmed; a step without a number is left for now.
        let confirm = labels(&stage, last).contains(&"Yes, all of that".to_owned());
        last = stage
            .say(thread, if confirm { "yes" } else { "skip" })
            .await;
    }
    let said = stage.count(thread);
    stage
        .fake
        .press_label(last, stage.rider, "Type the reading");
    let form = |world: &crate::fake::world::World| world.last_modal(stage.rider).cloned();
    let form = stage.fake.wait_for("a form", form).await;
    let unit = form["components"][1]["components"][0]["value"]
        .as_str()
        .expect("a unit")
        .to_owned();
    assert!(!unit.is_empty());
    let id = form["custom_id"].as_str().expect("an id").to_owned();
    stage
        .fake
        .submit_modal(stage.rider, &id, &[("said", "12.4"), ("unit", &unit)]);
    let reply = stage.answers(thread, said + 1).await;
    assert!(stage.text(reply).contains("12.4"), "{}", stage.text(reply));
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_button_of_a_step_is_answered_in_public_or_kindly() {
    let mut stage = Stage::new().await;
    let complaint = "it cranks but will not start, electric pump and carburettor, pump is silent";
    for button in [
        "Why this?",
        "I can't do that",
        "Skip this for now",
        "I don't know",
        "I want a person",
        "Stop here",
    ] {
        let thread = stage.begun(complaint).await;
        stage.say(thread, "nothing changed").await;
        stage.say(thread, "yes to all of it").await;
        let mut last = stage.say(thread, "I have everything").await;
        while labels(&stage, last).contains(&"Yes, all of that".to_owned()) {
            last = stage.say(thread, "yes").await;
        }
        let said = stage.count(thread);
        assert!(
            labels(&stage, last).contains(&button.to_owned()),
            "{button}: {:?}",
            labels(&stage, last)
        );
        stage.fake.press_label(last, stage.rider, button);
        stage.answers(thread, said + 1).await;
    }
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_last_answer_is_taken_back_with_a_button() {
    let mut stage = Stage::new().await;
    let (thread, _) = at_the_checklist(&stage).await;
    let wrong = stage.say(thread, "yes to all of it").await;
    let said = stage.count(thread);
    stage
        .fake
        .press_label(wrong, stage.rider, "That's wrong, take it back");
    let again = stage.answers(thread, said + 1).await;
    let labels = labels(&stage, again);
    assert!(
        labels.contains(&"Yes, all of that".to_owned()),
        "{labels:?}"
    );
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_whole_diagnosis_goes_by_buttons_alone() {
    let mut stage = Stage::without_content().await;
    stage
        .fake
        .slash(stage.channel, stage.rider, "bike-trouble", &[]);
    let thread = stage
        .fake
        .wait_for("a thread", |world| {
            world.threads(stage.channel).first().copied()
        })
        .await;
    let mut last = stage.answers(thread, 1).await;
    for step in 2..250 {
        let pick = stage.fake.read(|world| pick(world, last));
        let Some(pick) = pick else {
            break;
        };
        match pick {
            Pick::Button(id) => stage.fake.press(last, stage.rider, &id),
            Pick::Option(menu, value) => stage.fake.choose(last, stage.rider, &menu, &[&value]),
        };
        last = stage.answers(thread, step).await;
    }
    let text = stage.text(last);
    let over = stage.fake.read(|world| {
        let name = world.channel(thread)["name"]
            .as_str()
            .unwrap_or_default()
            .to_owned();
        ["Solved", "Shop", "Closed", "Open"]
            .iter()
            .any(|mark| name.starts_with(mark))
    });
    if !over {
        let named = |world: &crate::fake::world::World| {
            let name = world.channel(thread)["name"].as_str().unwrap_or_default();
            !name.starts_with("Waiting")
        };
        stage
            .fake
            .wait_until(&format!("an end after {text}"), named)
            .await;
    }
    stage.stop().await;
}

enum Pick {
    Button(String),
    Option(String, String),
}

/// The first thing on offer that leads on: a menu's first option, else the first button that is not for
/// every step.
fn pick(world: &crate::fake::world::World, message: u64) -> Option<Pick> {
    let message = world.live(message)?;
    if let Some((menu, values)) = message.select() {
        return Some(Pick::Option(menu, values.first()?.clone()));
    }
    let serving = [
        "why",
        "undo",
        "person",
        "stop",
        "start-over",
        "share-yes",
        "unsure",
        "skip",
    ];
    let buttons = message.buttons().into_iter();
    let mut own = buttons.filter(|(_, id)| {
        id.starts_with("pick:")
            && !serving
                .iter()
                .any(|serving| id.ends_with(&format!(":{serving}")))
    });
    own.next().map(|(_, id)| Pick::Button(id.to_owned()))
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_reply_that_has_to_wait_keeps_no_press_waiting() {
    let mut stage = Stage::new().await;
    let (thread, checklist) = at_the_checklist(&stage).await;
    let said = stage.count(thread);
    let wait = Duration::from_millis(1500);
    stage
        .fake
        .fail_next("POST", r"^/channels/\d+/messages$", Failure::too_many(wait));
    let act = stage
        .fake
        .press_label(checklist, stage.rider, "Yes, all of that");
    let answered = |world: &crate::fake::world::World| world.interaction(act).answered_after;
    let after = stage
        .fake
        .wait_for("the press to be answered", answered)
        .await;
    assert!(after < wait, "{after:?}");
    stage.answers(thread, said + 1).await;
    stage.stop().await;
}
