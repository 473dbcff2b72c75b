//! What replies look like: dangers first, pictures described, nothing beyond Discord's limits.

use floatbowl::channel::discord::custom_id::{CustomId, LONGEST};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::load::embedded;

use crate::stage::Stage;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_danger_leads_whatever_was_being_done() {
    let mut stage = Stage::new().await;
    let thread = stage.begun("it cranks but will not start").await;
    let reply = stage
        .say(thread, "fuel is dripping on the hot exhaust right now")
        .await;
    let text = stage.text(reply);
    assert!(text.starts_with("## STOP: "), "{text}");
    let labels = stage.fake.read(|world| {
        let message = world.live(reply).expect("it is there");
        message
            .buttons()
            .iter()
            .map(|(label, _)| (*label).to_owned())
            .collect::<Vec<_>>()
    });
    assert!(
        labels.contains(&"Yes, it is safe now".to_owned()),
        "{labels:?}"
    );
    stage.stop().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_reading_and_a_path_are_drawn_with_their_description() {
    let mut stage = Stage::new().await;
    let thread = stage
        .begun("it cranks but will not start, electric pump and carburettor")
        .await;
    stage.say(thread, "nothing changed").await;
    stage.say(thread, "yes to all of it").await;
    stage.say(thread, "I have everything").await;
    stage
        .say(thread, "the battery reads 12.1 V at rest overnight")
        .await;
    for _ in 0..12 {
        stage.say(thread, "skip").await;
    }
    let drawn = stage.fake.read(|world| {
        let said = world.bot_said(thread);
        let attached = said.iter().flat_map(|one| {
            let attached = one.json["attachments"].as_array().cloned();
            attached.unwrap_or_default()
        });
        attached
            .filter_map(|one| one["description"].as_str().map(str::to_owned))
            .collect::<Vec<_>>()
    });
    assert!(
        drawn
            .iter()
            .any(|alt| alt.starts_with("A scale. The reading, 12.1 V")),
        "{drawn:?}"
    );
    assert!(
        drawn.iter().any(|alt| alt.contains("in order: ")),
        "{drawn:?}"
    );
    stage.stop().await;
}

/// Every outcome of the knowledge can stand on a button.
#[test]
fn no_id_is_too_long_for_a_button() {
    let knowledge = Knowledge::compile(embedded()).expect("the knowledge is well");
    let mut longest = 0;
    for outcome in knowledge
        .observations
        .values()
        .flat_map(|check| &check.outcome)
    {
        let id = CustomId::Pick {
            turn: 99_999,
            id: outcome.id.to_string(),
        };
        longest = longest.max(id.to_string().len());
    }
    assert!((10..=LONGEST).contains(&longest), "{longest}");
}
