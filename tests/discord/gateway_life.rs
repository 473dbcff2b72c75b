//! The gateway's life: resume, reconnect, lost sessions, restarts; nothing lost, nothing twice.

use std::time::{Duration, Instant};

use floatbowl::channel::discord::DiscordError;
use rstest::rstest;

use crate::fake::Fake;
use crate::fake::gateway::What;
use crate::stage::Stage;

/// Everything that ends a connection with the session still there.
#[rstest]
#[case::without_a_code(|fake: &Fake| fake.close_gateway(None))]
#[case::unknown_error(|fake: &Fake| fake.close_gateway(Some(4000)))]
#[case::going_away(|fake: &Fake| fake.close_gateway(Some(1001)))]
#[case::reset(|fake: &Fake| fake.reset_gateway())]
#[case::told_to_reconnect(|fake: &Fake| fake.ask_to_reconnect())]
#[case::resumable(|fake: &Fake| fake.invalidate_session(true))]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_fall_in_the_middle_of_turns_loses_nothing(#[case] fall: fn(&Fake)) {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage.fake.say(thread, stage.rider, "nothing changed");
    fall(&stage.fake);
    stage.fake.say(thread, stage.rider, "why?");
    stage.answers(thread, said + 2).await;
    let identified = stage.fake.identifies();
    stage.say(thread, "why?").await;
    assert_eq!(stage.count(thread), said + 3);
    assert_eq!(identified, 1, "the session was resumed");
    let (all, at_its_address) = stage.fake.resumes();
    assert!(all >= 1 && at_its_address == all, "{all} {at_its_address}");
    stage.stop().await;
}

/// Everything that ends the session: what was missed is read over REST.
#[rstest]
#[case::not_resumable(|fake: &Fake| fake.invalidate_session(false))]
#[case::timed_out(|fake: &Fake| fake.close_gateway(Some(4009)))]
#[case::forgotten(|fake: &Fake| { fake.lose_sessions(); fake.close_gateway(Some(4000)); })]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_missed_with_a_lost_session_is_read(#[case] loss: fn(&Fake)) {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage.fake.refuse_connections(true);
    loss(&stage.fake);
    stage.fake.lose_sessions();
    stage
        .fake
        .wait_until("to be away", |world| world.connected() == 0)
        .await;
    stage.fake.say(thread, stage.rider, "nothing changed");
    stage.fake.say(thread, stage.helper, "his bowl is dry");
    stage.fake.refuse_connections(false);
    stage.answers(thread, said + 1).await;
    stage.say(thread, "why?").await;
    assert_eq!(stage.count(thread), said + 2);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_gateway_that_is_away_is_asked_now_and_then_not_all_the_time() {
    let mut stage = Stage::new().await;
    stage.fake.refuse_connections(true);
    stage.fake.close_gateway(None);
    tokio::time::sleep(Duration::from_secs(2)).await;
    let tries = stage.fake.gateway_times(None, What::Refused).len();
    assert!((1..8).contains(&tries), "{tries} tries in two seconds");
    assert!(stage.gauges.text().contains("gateway_up{shard=\"0\"} 0"));
    stage.fake.refuse_connections(false);
    stage
        .fake
        .wait_until("to be back", |world| world.connected() > 0)
        .await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_connection_that_no_longer_answers_is_left_and_resumed() {
    let mut stage = Stage::set().await;
    stage.fake.heartbeat_interval(Duration::from_millis(150));
    stage.serve().await;
    let thread = stage.begun("it cranks but will not start").await;
    stage.fake.acknowledge(false);
    let resumed = |world: &crate::fake::world::World| {
        world
            .gateway
            .happenings
            .iter()
            .any(|one| matches!(one.what, What::Resumed(_)))
    };
    stage.fake.wait_until("a resume", resumed).await;
    stage.fake.acknowledge(true);
    stage.say(thread, "nothing changed").await;
    assert_eq!(stage.fake.identifies(), 1);
    stage.stop().await;
}

#[rstest]
#[case(4004, "does not accept the token")]
#[case(4012, "update floatbowl")]
#[case(4013, "update floatbowl")]
#[case(4014, "Message Content Intent")]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_refusal_ends_with_what_to_do(#[case] code: u16, #[case] remedy: &str) {
    let mut stage = Stage::set().await;
    stage.fake.refuse_identify(code);
    stage.begin();
    let error = stage.ended().await.expect_err("refused");
    assert!(matches!(error, DiscordError::Gateway(_)));
    assert!(error.to_string().contains(remedy), "{error}");
    stage.fake.take_breaches();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn events_twice_and_out_of_order_are_taken_once_and_in_order() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage.fake.hold_events();
    let messages = ["nothing changed", "why?", "what do you know so far?"];
    for text in messages {
        stage.fake.say(thread, stage.rider, text);
    }
    stage.fake.release_events(|events| events.reverse());
    stage.answers(thread, said + 3).await;
    stage.fake.repeat_event("MESSAGE_CREATE");
    stage.say(thread, "why?").await;
    assert_eq!(stage.count(thread), said + 4);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_restart_resumes_the_session_and_misses_nothing() {
    let mut stage = Stage::set().await;
    let folder = tempfile::tempdir().expect("a folder");
    stage.keep_sessions(folder.path().to_owned());
    stage.serve().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage.stop().await;
    stage.fake.say(thread, stage.rider, "nothing changed");
    stage.begin();
    stage.answers(thread, said + 1).await;
    assert_eq!(stage.fake.identifies(), 1, "the session went on");
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_cannot_be_read_is_passed_over_and_counted() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    stage.fake.send_raw("{\"op\":");
    stage.fake.emit(
        "MESSAGE_CREATE",
        Some(crate::stage::GUILD),
        serde_json::json!({"id": {}}),
    );
    stage.fake.emit(
        "A_NEW_KIND",
        Some(crate::stage::GUILD),
        serde_json::json!({"x": [1]}),
    );
    stage.say(thread, "nothing changed").await;
    assert!(stage.gauges.text().contains("floatbowl_unreadable_total 2"));
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_shards_serve_side_by_side() {
    let mut stage = Stage::set().await;
    stage.fake.set(|settings| settings.shards = 2);
    stage.fake.guild(3 << 22);
    stage.setting.shards = floatbowl::channel::discord::Shards {
        first: 0,
        last: 1,
        total: 2,
    };
    stage.serve().await;
    let thread = stage.begun("it cranks but will not start").await;
    stage.fake.close_shard(1, Some(4000));
    stage.say(thread, "nothing changed").await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn stopping_finishes_what_is_in_hand() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    let slow = crate::fake::failure::Failure::slow(Duration::from_millis(700));
    stage
        .fake
        .fail_next("POST", r"^/channels/\d+/messages$", slow);
    stage.fake.say(thread, stage.rider, "nothing changed");
    tokio::time::sleep(Duration::from_millis(200)).await;
    let begin = Instant::now();
    stage.stop().await;
    assert!(stage.count(thread) > said, "the reply in hand was sent");
    assert!(begin.elapsed() < Duration::from_secs(15));
    assert!(stage.desk.unsent().await.expect("a store").is_empty());
}
