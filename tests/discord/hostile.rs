//! Somebody who means ill: mentions, masses, markdown, and other people's buttons.

use crate::fake::world::World;
use crate::stage::Stage;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_a_person_writes_pings_or_marks() {
    let mut stage = Stage::new().await;
    let text = format!(
        "@everyone @here <@{}> <@&{}> ||x|| [free](https://evil.invalid) # big\n# bigger **it cranks but will not start**",
        stage.helper,
        crate::stage::GUILD
    );
    let thread = stage.begun(&text).await;
    for words in [
        "@everyone my fuse is @here **12.6 V** <@1>",
        "```\n@everyone\n```",
        "> # @everyone",
    ] {
        stage.say(thread, words).await;
    }
    stage.fake.read(|world| {
        for message in world.bot_said(thread) {
            let others = message
                .pings
                .iter()
                .filter(|ping| ping.to_string() != stage.rider.to_string());
            assert_eq!(others.count(), 0, "{}", message.content());
            assert!(
                !message.content().contains("@everyone"),
                "{}",
                message.content()
            );
            assert!(
                !message.content().contains("](http"),
                "{}",
                message.content()
            );
        }
        let name = world.channel(thread)["name"].as_str().expect("a name");
        assert!(
            name.chars().count() <= 100 && !name.contains('\n'),
            "{name}"
        );
    });
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn huge_messages_are_answered_within_the_limits() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    for text in [
        "word ".repeat(400),
        "x".repeat(2000),
        "🔥".repeat(900),
        "12.6 V ".repeat(280),
    ] {
        stage.say(thread, &text).await;
    }
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn other_peoples_presses_change_nothing() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let checklist = stage.say(thread, "nothing changed").await;
    let said = stage.count(thread);
    let mut acts = Vec::new();
    for _ in 0..30 {
        acts.push(
            stage
                .fake
                .press_label(checklist, stage.helper, "Yes, all of that"),
        );
    }
    for act in acts {
        assert!(
            stage
                .answer(act)
                .await
                .contains("for the rider whose bike it is")
        );
    }
    let open = |world: &World| {
        !world
            .live(checklist)
            .expect("it is there")
            .buttons()
            .is_empty()
    };
    assert!(stage.fake.read(open));
    assert_eq!(stage.count(thread), said);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_rider_who_presses_everything_gets_one_answer_a_question() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let checklist = stage.say(thread, "nothing changed").await;
    let said = stage.count(thread);
    let yes = stage.fake.read(|world| {
        let checklist = world.live(checklist).expect("it is there");
        checklist.button("Yes, all of that")
    });
    let mut acts = Vec::new();
    for _ in 0..20 {
        // The message may be closed meanwhile; a slow client presses all the same.
        acts.push(stage.fake.press_stale(checklist, stage.rider, &yes));
    }
    for act in &acts {
        let answered = |world: &World| world.interaction(*act).answer;
        stage.fake.wait_for("an answer", answered).await;
    }
    stage.answers(thread, said + 1).await;
    stage.say(thread, "why?").await;
    assert_eq!(stage.count(thread), said + 2);
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn bots_and_strange_buttons_are_ignored() {
    let mut stage = Stage::new().await;
    let bot = stage.fake.other_bot(crate::stage::GUILD, "demo-noise");
    let thread = stage.begun("it cranks but will not start").await;
    let said = stage.count(thread);
    stage
        .fake
        .say(thread, bot, "his bowl is bone dry, battery 12.6 V");
    let mention = format!("<@{}> it will not start", stage.fake.application());
    stage.fake.say(stage.channel, bot, &mention);
    stage.say(thread, "nothing changed").await;
    assert_eq!(stage.count(thread), said + 1);
    assert_eq!(
        stage.fake.read(|world| world.threads(stage.channel)),
        [thread]
    );
    stage.stop().await;
}
