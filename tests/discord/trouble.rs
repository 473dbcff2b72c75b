//! Discord not well: limits, outages, cut connections, lost permissions; no reply lost, none twice.

use std::time::Duration;

use rstest::rstest;
use serde_json::json;

use crate::fake::failure::Failure;
use crate::fake::permission::SEND_MESSAGES_IN_THREADS;
use crate::fake::world::World;
use crate::stage::{GUILD, Stage};

const MESSAGES: &str = r"^/channels/\d+/messages$";

#[rstest]
#[case::unavailable(|| Failure::status(503).times(2))]
#[case::gateway_error(|| Failure::status(502))]
#[case::cut(Failure::cut)]
#[case::cut_after_it_was_done(Failure::cut_after)]
#[case::limited(|| Failure::too_many(Duration::from_millis(300)))]
#[case::limited_for_all(|| Failure::too_many_global(Duration::from_millis(300)))]
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_reply_gets_through_once(#[case] failure: fn() -> Failure) {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage.fake.fail_next("POST", MESSAGES, failure());
    stage.fake.say(thread, stage.rider, "nothing changed");
    stage.answers(thread, said + 1).await;
    stage.say(thread, "why?").await;
    assert_eq!(stage.count(thread), said + 2, "each answer once");
    assert_eq!(stage.fake.failures_left(), 0);
    stage.stop().await;
    assert!(stage.desk.unsent().await.expect("a store").is_empty());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_long_wait_in_one_thread_holds_up_no_other() {
    let mut stage = Stage::new().await;
    let waiting = stage.begun("it cranks but will not start").await;
    let other = stage.begun("it dies after ten minutes").await;
    let (said, others) = (stage.count(waiting), stage.count(other));
    let long = Failure::too_many(Duration::from_secs(4));
    let route = format!("^/channels/{waiting}/messages$");
    stage.fake.fail_next("POST", &route, long);
    stage.fake.say(waiting, stage.rider, "nothing changed");
    tokio::time::sleep(Duration::from_millis(300)).await;
    stage.fake.say(waiting, stage.rider, "why?");
    stage.say(other, "nothing changed").await;
    assert_eq!(stage.count(other), others + 1);
    assert_eq!(stage.count(waiting), said, "still waiting");
    // The turns were taken all the same; the replies follow in order.
    stage.answers(waiting, said + 2).await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_limit_for_all_routes_is_kept_by_all() {
    let mut stage = Stage::new().await;
    let first = stage.begun("it cranks but will not start").await;
    let second = stage.begun("it dies after ten minutes").await;
    tokio::time::sleep(Duration::from_millis(2500)).await;
    let (said, others) = (stage.count(first), stage.count(second));
    let route = format!("^/channels/{first}/messages$");
    stage.fake.fail_next(
        "POST",
        &route,
        Failure::too_many_global(Duration::from_secs(1)),
    );
    stage.fake.say(first, stage.rider, "nothing changed");
    tokio::time::sleep(Duration::from_millis(200)).await;
    stage.fake.say(second, stage.rider, "nothing changed");
    stage.answers(first, said + 1).await;
    stage.answers(second, others + 1).await;
    // The fake counts a request during the wait as a breach, and fails the test at its end.
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_was_not_sent_goes_out_at_the_next_start() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage
        .fake
        .fail_next("POST", MESSAGES, Failure::status(503).times(1000));
    stage.fake.say(thread, stage.rider, "nothing changed");
    let tried = |world: &World| world.calls.iter().any(|call| call.status == 503);
    stage.fake.wait_until("a try", tried).await;
    stage.stop().await;
    assert_eq!(stage.desk.unsent().await.expect("a store").len(), 1);
    stage.fake.stop_failing();
    stage.begin();
    stage.answers(thread, said + 1).await;
    stage.say(thread, "why?").await;
    assert_eq!(stage.count(thread), said + 2);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn where_writing_is_forbidden_moderators_are_told_once() {
    let mut stage = Stage::new().await;
    let helpers = stage.fake.text_channel(GUILD, "helpers");
    let options = [("helpers", json!(helpers.to_string()))];
    let act = stage
        .fake
        .slash(stage.channel, stage.moderator, "group-setup", &options);
    stage.answer(act).await;
    let thread = stage.begun("it cranks but will not start").await;
    stage.fake.forbid(stage.channel, SEND_MESSAGES_IN_THREADS);
    for text in ["nothing changed", "why?", "hello?"] {
        stage.fake.say(thread, stage.rider, text);
    }
    let told = |world: &World| {
        world
            .bot_last(helpers)
            .map(|told| told.content().to_owned())
    };
    let text = stage.fake.wait_for("moderators to be told", told).await;
    assert!(text.contains("Send Messages in Threads"), "{text}");
    tokio::time::sleep(Duration::from_millis(500)).await;
    assert_eq!(stage.fake.read(|world| world.bot_said(helpers).len()), 1);
    let refused = stage.fake.pace().0;
    assert!(refused <= 4, "{refused} calls that were refused");
    stage.stop().await;
    // Nothing of it is lost: it goes out once the permission is back.
    assert_eq!(stage.desk.unsent().await.expect("a store").len(), 3);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn an_archived_thread_is_opened_again_to_answer() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let wait = Failure::slow(Duration::from_millis(400));
    stage.fake.fail_next("POST", MESSAGES, wait);
    let said = stage.count(thread);
    stage.fake.say(thread, stage.rider, "nothing changed");
    tokio::time::sleep(Duration::from_millis(100)).await;
    stage.fake.archive_thread(thread);
    stage.answers(thread, said + 1).await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_deleted_thread_is_let_go() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    stage
        .fake
        .fail_next("POST", MESSAGES, Failure::slow(Duration::from_millis(300)));
    stage.fake.say(thread, stage.rider, "nothing changed");
    tokio::time::sleep(Duration::from_millis(100)).await;
    stage.fake.delete_channel(thread);
    let tried = |world: &World| world.calls.iter().any(|call| call.status == 404);
    stage.fake.wait_until("a try", tried).await;
    stage.stop().await;
    assert!(stage.desk.unsent().await.expect("a store").is_empty());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_wrong_token_is_said_at_once() {
    let mut stage = Stage::set().await;
    stage.setting.token = "not-the-token".to_owned();
    stage.begin();
    let error = stage.ended().await.expect_err("refused").to_string();
    assert!(error.contains("copy it anew"), "{error}");
    stage.fake.take_breaches();
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn discord_away_at_the_start_is_waited_for() {
    let mut stage = Stage::set().await;
    stage
        .fake
        .set(|settings| settings.gateway_status = Some(500));
    stage.begin();
    let asked = |world: &World| world.calls.iter().any(|call| call.status == 500);
    stage.fake.wait_until("a try", asked).await;
    stage.fake.set(|settings| settings.gateway_status = None);
    stage.fake.wait_for_shards(1).await;
    stage.stop().await;
}
