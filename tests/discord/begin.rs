//! How conversations begin: by a command, a mention, a newcomer's post, in a watched forum.

use serde_json::json;

use crate::fake::permission::{CREATE_PUBLIC_THREADS, SEND_MESSAGES_IN_THREADS};
use crate::stage::Stage;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_command_opens_a_thread_and_takes_the_complaint() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let (greeting, reply) = stage.fake.read(|world| {
        let said = world.bot_said(thread);
        (said[0].content().to_owned(), said[1].content().to_owned())
    });
    assert!(
        greeting.contains(&format!("<@{}>", stage.rider)),
        "{greeting}"
    );
    assert!(reply.contains("-# Understood:"), "{reply}");
    let name = stage
        .fake
        .read(|world| world.channel(thread)["name"].clone());
    assert_eq!(name, "Waiting for rider · it cranks but will not start");
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_mention_opens_a_thread_on_the_message() {
    let mut stage = Stage::new().await;
    let text = format!(
        "<@{}> my bike cranks but wont start",
        stage.fake.application()
    );
    let message = stage.fake.say(stage.channel, stage.rider, &text);
    stage.answers(message, 2).await;
    assert_eq!(
        stage.fake.read(|world| world.threads(stage.channel)),
        [message]
    );
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn without_the_intent_a_mention_is_enough() {
    let mut stage = Stage::without_content().await;
    let bot = stage.fake.application();
    let text = format!("<@{bot}> it cranks but will not start");
    let thread = stage.fake.say(stage.channel, stage.rider, &text);
    let reply = stage.answers(thread, 2).await;
    assert!(
        stage.text(reply).contains("Understood"),
        "{}",
        stage.text(reply)
    );
    // A plain message cannot be read, and the rider is told so once.
    stage.fake.say(thread, stage.rider, "nothing changed");
    let told = stage.answers(thread, 3).await;
    assert!(stage.text(told).contains("cannot read plain messages"));
    stage.fake.say(thread, stage.rider, "hello?");
    let answer = stage
        .say(thread, &format!("<@{bot}> nothing changed"))
        .await;
    assert!(
        !stage.text(answer).contains("cannot read"),
        "{}",
        stage.text(answer)
    );
    assert_eq!(stage.count(thread), 4);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_moderator_starts_from_a_newcomers_post() {
    let mut stage = Stage::new().await;
    let post = stage.fake.say(
        stage.channel,
        stage.rider,
        "cranks, wont fire, tank is full",
    );
    let act = stage.fake.message_menu(
        stage.channel,
        stage.moderator,
        "Start a diagnosis here",
        post,
    );
    assert!(stage.answer(act).await.contains(&format!("<#{post}>")));
    stage.answers(post, 2).await;
    // The rider drives it, though a moderator began it.
    let answer = stage.say(post, "nothing changed").await;
    assert!(!stage.text(answer).is_empty());
    // Pointing at it again begins no second one.
    let again = stage.fake.message_menu(
        stage.channel,
        stage.moderator,
        "Start a diagnosis here",
        post,
    );
    assert!(stage.answer(again).await.contains(&format!("<#{post}>")));
    assert_eq!(stage.count(post), 3);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_member_cannot_start_from_anothers_post() {
    let mut stage = Stage::new().await;
    stage.fake.set(|settings| settings.commands_open = true);
    let post = stage
        .fake
        .say(stage.channel, stage.rider, "cranks, wont fire");
    let act = stage
        .fake
        .message_menu(stage.channel, stage.helper, "Start a diagnosis here", post);
    assert!(stage.answer(act).await.contains("Only moderators"));
    assert!(
        stage
            .fake
            .read(|world| world.threads(stage.channel))
            .is_empty()
    );
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_new_post_in_a_watched_forum_is_a_conversation() {
    let mut stage = Stage::new().await;
    let before = stage
        .fake
        .post_in_forum(stage.forum, stage.rider, "Help", "no start", &[]);
    let watch = [("watch", json!(stage.forum.to_string()))];
    let act = stage
        .fake
        .slash(stage.channel, stage.moderator, "group-setup", &watch);
    assert!(
        stage
            .answer(act)
            .await
            .contains(&format!("<#{}>", stage.forum))
    );
    let post = stage.fake.post_in_forum(
        stage.forum,
        stage.rider,
        "Dead after rain",
        "It cranks but will not start since the rain",
        &[],
    );
    let reply = stage.answers(post, 2).await;
    assert!(stage.text(reply).contains("Understood"));
    let named = |world: &crate::fake::world::World| {
        world.channel(post)["name"] == "Waiting for rider · Dead after rain"
            && world.tags(post) == ["Waiting for rider"]
    };
    stage.fake.wait_until("title and tag", named).await;
    assert_eq!(stage.count(before), 0, "posts from before are left alone");
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_begins_where_permissions_are_missing() {
    let mut stage = Stage::new().await;
    stage.fake.forbid(stage.channel, CREATE_PUBLIC_THREADS);
    let act = stage
        .fake
        .slash(stage.channel, stage.rider, "bike-trouble", &[]);
    let answer = stage.answer(act).await;
    assert!(answer.contains("Create Public Threads"), "{answer}");
    stage.fake.allow(stage.channel, CREATE_PUBLIC_THREADS);
    // Permission to write is lost between the question and the thread: no silent thread stays.
    let text = format!("<@{}> will not start", stage.fake.application());
    stage.fake.forbid(stage.channel, SEND_MESSAGES_IN_THREADS);
    let message = stage.fake.say(stage.channel, stage.rider, &text);
    let gone = |world: &crate::fake::world::World| {
        let made = world
            .calls
            .iter()
            .any(|call| call.path.ends_with(&format!("{message}/threads")));
        made && world.threads(stage.channel).is_empty()
    };
    stage
        .fake
        .wait_until("the empty thread to be removed", gone)
        .await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn in_a_thread_the_command_begins_there_and_only_once() {
    let mut stage = Stage::new().await;
    let message = stage.fake.say(stage.channel, stage.rider, "hello");
    let thread = stage.fake.start_thread(message, stage.rider, "my bike");
    let act = stage.fake.slash(thread, stage.rider, "bike-trouble", &[]);
    assert!(stage.answer(act).await.contains(&format!("<#{thread}>")));
    stage.answers(thread, 1).await;
    let act = stage.fake.slash(thread, stage.helper, "bike-trouble", &[]);
    assert!(stage.answer(act).await.contains("already"));
    stage.stop().await;
}
