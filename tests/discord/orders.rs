//! Every command: what it does, and to whom it is refused.

use serde_json::json;

use crate::fake::world::World;
use crate::stage::{GUILD, Stage};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn where_we_are_is_told_to_whoever_asks_and_pinned() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let act = stage.fake.slash(thread, stage.helper, "where-we-are", &[]);
    let answer = stage.answer(act).await;
    assert!(answer.starts_with("**Where we are**"), "{answer}");
    assert!(answer.contains("not a substitute"), "{answer}");
    let pinned = |world: &World| {
        let pinned = world.pinned(thread);
        pinned.first().copied().filter(|_| pinned.len() == 1)
    };
    let pinned = stage.fake.wait_for("a pinned summary", pinned).await;
    let before = stage.text(pinned);
    stage.say(thread, "nothing changed").await;
    let follows = |world: &World| {
        world
            .live(pinned)
            .is_some_and(|pinned| pinned.content() != before)
            && world.pinned(thread).len() == 1
    };
    stage
        .fake
        .wait_until("the summary to follow", follows)
        .await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn why_undo_and_the_manual_are_turns_of_the_rider() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    stage.say(thread, "nothing changed").await;
    stage.say(thread, "yes to all of it").await;
    for (name, options) in [
        ("why-this", vec![]),
        ("take-back", vec![]),
        (
            "manual-says",
            vec![("value", json!("battery at rest 12.4 to 12.8 V"))],
        ),
    ] {
        let said = stage.count(thread);
        let act = stage.fake.slash(thread, stage.rider, name, &options);
        assert!(stage.answer(act).await.starts_with("Taken"), "{name}");
        stage.answers(thread, said + 1).await;
        let act = stage.fake.slash(thread, stage.helper, name, &options);
        assert!(
            stage.answer(act).await.contains("for the rider whose bike"),
            "{name}"
        );
        let act = stage.fake.slash(stage.channel, stage.rider, name, &options);
        assert!(stage.answer(act).await.contains("no diagnosis"), "{name}");
    }
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_helper_is_called_where_helpers_look_and_nobody_is_pinged() {
    let mut stage = Stage::new().await;
    let desk = stage.fake.text_channel(GUILD, "helpers");
    let options = [("helpers", json!(desk.to_string()))];
    let act = stage
        .fake
        .slash(stage.channel, stage.moderator, "group-setup", &options);
    stage.answer(act).await;
    let thread = stage.begun("it cranks but will not start").await;
    let act = stage.fake.slash(thread, stage.rider, "call-a-helper", &[]);
    assert!(stage.answer(act).await.contains("A person has been asked"));
    let told = |world: &World| {
        world
            .bot_last(desk)
            .map(|told| (told.content().to_owned(), told.pings.len()))
    };
    let (text, pings) = stage.fake.wait_for("helpers to be told", told).await;
    assert!(text.contains(&format!("<#{thread}>")), "{text}");
    assert_eq!(pings, 0);
    let open = |world: &World| {
        let name = world.channel(thread)["name"].as_str().unwrap_or_default();
        name.starts_with("Open · ")
    };
    stage.fake.wait_until("the title to say so", open).await;
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn forget_me_erases_and_says_what() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let pinned = |world: &World| world.pinned(thread).first().copied();
    let pinned = stage.fake.wait_for("a summary", pinned).await;
    let act = stage
        .fake
        .slash(stage.channel, stage.rider, "forget-me", &[]);
    let answer = stage.answer(act).await;
    assert!(answer.contains("Erased: 1 conversation"), "{answer}");
    assert!(
        answer.contains("Messages that stand in Discord itself"),
        "{answer}"
    );
    let gone = |world: &World| world.live(pinned).is_none();
    stage.fake.wait_until("the summary to go too", gone).await;
    let act = stage.fake.slash(thread, stage.rider, "where-we-are", &[]);
    assert!(stage.answer(act).await.contains("no diagnosis"));
    let act = stage
        .fake
        .slash(stage.channel, stage.rider, "forget-me", &[]);
    assert!(stage.answer(act).await.contains("Nothing of yours"));
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_group_is_set_up_by_those_who_manage_it() {
    let mut stage = Stage::new().await;
    stage.fake.set(|settings| settings.commands_open = true);
    let act = stage
        .fake
        .slash(stage.channel, stage.helper, "group-setup", &[]);
    assert!(stage.answer(act).await.contains("Only moderators"));
    let role = stage.fake.role(GUILD, "demo-wardens", 0);
    let options = [
        ("watch", json!(stage.forum.to_string())),
        ("moderators", json!(role.to_string())),
        ("helpers", json!(stage.channel.to_string())),
        ("language", json!("en")),
        ("keep-days", json!(30)),
        ("reminders", json!(false)),
        ("open-to-volunteers", json!("nothing")),
        ("sheets", json!("no-such-bike")),
    ];
    let act = stage
        .fake
        .slash(stage.channel, stage.moderator, "group-setup", &options);
    let answer = stage.answer(act).await;
    for part in [
        format!("<#{}>", stage.forum),
        format!("<@&{role}>"),
        "30 days".to_owned(),
        "Reminders: none".to_owned(),
        "nothing without".to_owned(),
        "I know no sheet called no-such-bike".to_owned(),
        "English".to_owned(),
    ] {
        assert!(answer.contains(&part), "{part} in {answer}");
    }
    // The role now moderates, on our side too.
    let warden = stage.fake.member(GUILD, "demo-warden", &[role]);
    let post = stage
        .fake
        .say(stage.channel, stage.rider, "cranks, wont fire");
    let act = stage
        .fake
        .message_menu(stage.channel, warden, "Start a diagnosis here", post);
    assert!(stage.answer(act).await.contains(&format!("<#{post}>")));
    let unwatch = [("unwatch", json!(stage.forum.to_string()))];
    let act = stage
        .fake
        .slash(stage.channel, stage.moderator, "group-setup", &unwatch);
    assert!(stage.answer(act).await.contains("Forums I answer in: none"));
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_sheet_is_shown_and_used_once_the_group_approves_it() {
    let mut stage = Stage::set().await;
    let sheet = floatbowl::channel::discord::Sheet {
        words: "Invented bike\nWinding: 1 to 2 ohm".to_owned(),
        system: "pump-carb".into(),
    };
    stage.setting.sheets.insert("demo-twin".to_owned(), sheet);
    stage.serve().await;
    let ask = [("bike", json!("demo-twin"))];
    let act = stage
        .fake
        .slash(stage.channel, stage.rider, "group-sheet", &ask);
    assert!(stage.answer(act).await.contains("approved no sheets"));
    let approve = [("sheets", json!("demo-twin"))];
    let act = stage
        .fake
        .slash(stage.channel, stage.moderator, "group-setup", &approve);
    stage.answer(act).await;
    let act = stage
        .fake
        .slash(stage.channel, stage.rider, "group-sheet", &ask);
    assert!(stage.answer(act).await.contains("1 to 2 ohm"));
    let start = [
        ("sheet", json!("demo-twin")),
        ("what", json!("cranks, will not start")),
    ];
    let act = stage
        .fake
        .slash(stage.channel, stage.rider, "bike-trouble", &start);
    assert!(stage.answer(act).await.contains("Let us go on here"));
    let start = [("sheet", json!("another"))];
    let act = stage
        .fake
        .slash(stage.channel, stage.rider, "bike-trouble", &start);
    assert!(stage.answer(act).await.contains("demo-twin"));
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn volunteers_are_led_to_the_transcripts() {
    let mut stage = Stage::set().await;
    stage.setting.review_page = Some("https://example.org/transcripts".to_owned());
    stage.serve().await;
    let act = stage
        .fake
        .slash(stage.channel, stage.moderator, "read-transcripts", &[]);
    assert_eq!(stage.answer(act).await, "https://example.org/transcripts");
    stage.stop().await;
}
