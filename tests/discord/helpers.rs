//! Helpers write freely; what they say counts once the rider or a moderator takes it in.

use crate::fake::world::World;
use crate::stage::Stage;

/// The offer to take a helper's message in.
async fn offer(stage: &Stage, thread: u64) -> u64 {
    let offered = |world: &World| {
        let said = world.bot_said(thread);
        let offer = said.iter().rev().find(|message| {
            message
                .buttons()
                .iter()
                .any(|(label, _)| *label == "Take it in")
        });
        offer.map(|offer| offer.id())
    };
    stage.fake.wait_for("an offer", offered).await
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_helpers_words_count_when_the_rider_takes_them_in() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage
        .fake
        .say(thread, stage.helper, "his bowl is bone dry, I saw it");
    let offer = offer(&stage, thread).await;
    assert!(stage.text(offer).contains(&format!("<@{}>", stage.rider)));
    stage.fake.press_label(offer, stage.rider, "Take it in");
    let reply = stage.answers(thread, said + 2).await;
    assert!(
        stage.text(reply).contains("Understood"),
        "{}",
        stage.text(reply)
    );
    let closed = |world: &World| {
        let offer = world.live(offer).expect("it is there");
        offer.buttons().is_empty() && offer.content().starts_with("Taken in")
    };
    stage
        .fake
        .wait_until("the offer to be closed", closed)
        .await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn small_talk_is_not_offered() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage
        .fake
        .say(thread, stage.helper, "good luck, nice weather for it");
    stage.fake.say(thread, stage.helper, "his bowl is bone dry");
    offer(&stage, thread).await;
    assert_eq!(stage.count(thread), said + 1);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_moderator_may_take_it_in_and_another_helper_may_not() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    stage.fake.say(thread, stage.helper, "his bowl is bone dry");
    let offer = offer(&stage, thread).await;
    let act = stage.fake.press_label(offer, stage.helper, "Take it in");
    assert!(
        stage
            .answer(act)
            .await
            .contains("for the rider whose bike it is")
    );
    let said = stage.count(thread);
    stage.fake.press_label(offer, stage.moderator, "Take it in");
    stage.answers(thread, said + 1).await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_offer_can_be_left() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    stage.fake.say(thread, stage.helper, "his bowl is bone dry");
    let offer = offer(&stage, thread).await;
    stage.fake.press_label(offer, stage.rider, "Leave it");
    let left = |world: &World| {
        world
            .live(offer)
            .is_some_and(|offer| offer.content() == "Left aside.")
    };
    stage.fake.wait_until("it to be left", left).await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_message_taken_back_before_it_is_taken_in_counts_for_nothing() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let message = stage.fake.say(thread, stage.helper, "his bowl is bone dry");
    let offer = offer(&stage, thread).await;
    stage.fake.delete_message(message);
    stage.fake.press_label(offer, stage.rider, "Take it in");
    let gone = |world: &World| {
        world
            .live(offer)
            .is_some_and(|offer| offer.content().contains("no longer there"))
    };
    stage.fake.wait_until("to be told", gone).await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn without_the_intent_a_message_is_taken_in_by_its_menu() {
    let mut stage = Stage::without_content().await;
    let thread = stage.begun("it cranks but will not start").await;
    let message = stage.fake.say(thread, stage.helper, "his bowl is bone dry");
    let said = stage.count(thread);
    let act = stage
        .fake
        .message_menu(thread, stage.rider, "Take into the diagnosis", message);
    assert!(stage.answer(act).await.contains("Taken in"));
    stage.answers(thread, said + 1).await;
    stage.stop().await;
}
