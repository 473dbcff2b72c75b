//! What people do with what the bot sent, and how the bot answers them.

use std::time::Duration;

use reqwest::Method;
use serde_json::json;

use super::socket::{INTENTS, Socket};
use super::{GUILD, Scene, message, with_button};
use crate::fake::permission::MANAGE_GUILD;

#[tokio::test]
async fn a_command_carries_its_options() {
    let scene = Scene::new().await;
    let who = json!({"name": "who", "description": "d", "type": 6});
    let channels = json!({"name": "channels", "description": "d", "type": 1, "options": [who]});
    let setup = json!({"name": "setup", "description": "d", "options": [channels]});
    scene.register(json!([setup])).await;
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    let rider = scene.rider.to_string();
    let options = [("who", json!(rider))];
    scene
        .fake
        .slash(scene.channel, scene.rider, "setup channels", &options);
    let data = socket.event("INTERACTION_CREATE").await["data"].clone();
    assert_eq!(data["options"][0]["options"][0]["value"], rider);
    assert!(data["resolved"]["users"][rider].is_object());
}

#[tokio::test]
async fn a_command_is_deferred_and_answered() {
    let scene = Scene::new().await;
    scene
        .register(json!([{"name": "why", "description": "d"}]))
        .await;
    let id = scene.fake.slash(scene.channel, scene.rider, "why", &[]);
    let deferred = json!({"type": 5, "data": {"flags": 64}});
    assert_eq!(scene.answer(id, deferred).await.0, 204);
    assert!(scene.fake.read(|world| world.answer(id).is_none()));
    let token = scene.fake.read(|world| world.interaction(id).token.clone());
    let path = format!(
        "/webhooks/{}/{token}/messages/@original",
        scene.fake.application()
    );
    assert_eq!(
        scene.send(Method::PATCH, &path, message("done")).await.0,
        200
    );
    scene.fake.read(|world| {
        assert_eq!(world.answer(id).unwrap().content(), "done");
        assert_eq!(world.whispered(scene.rider).len(), 1);
        assert_eq!(world.said(scene.channel).len(), 0);
    });
}

#[tokio::test]
async fn follow_ups_are_messages_of_their_own() {
    let scene = Scene::new().await;
    scene
        .register(json!([{"name": "why", "description": "d"}]))
        .await;
    let id = scene.fake.slash(scene.channel, scene.rider, "why", &[]);
    scene
        .answer(id, json!({"type": 4, "data": message("one")}))
        .await;
    let token = scene.fake.read(|world| world.interaction(id).token.clone());
    let path = format!("/webhooks/{}/{token}", scene.fake.application());
    let (status, made) = scene.post(&path, message("two")).await;
    assert_eq!(status, 200);
    let one = format!("{path}/messages/{}", made["id"].as_str().unwrap());
    assert_eq!(scene.send(Method::DELETE, &one, json!(null)).await.0, 204);
    assert_eq!(
        scene.fake.read(|world| world.bot_said(scene.channel).len()),
        1
    );
}

#[tokio::test]
async fn answering_twice_or_late_is_a_breach() {
    let scene = Scene::new().await;
    scene
        .register(json!([{"name": "why", "description": "d"}]))
        .await;
    let id = scene.fake.slash(scene.channel, scene.rider, "why", &[]);
    let answer = json!({"type": 4, "data": message("x")});
    scene.answer(id, answer.clone()).await;
    assert_eq!(scene.answer(id, answer.clone()).await.1["code"], 40_060);
    scene
        .fake
        .set(|settings| settings.limits.answer = Duration::ZERO);
    let late = scene.fake.slash(scene.channel, scene.rider, "why", &[]);
    assert_eq!(scene.answer(late, answer).await.1["code"], 10_062);
    assert_eq!(scene.fake.take_breaches().len(), 2);
}

#[tokio::test]
async fn a_button_changes_its_message() {
    let scene = Scene::new().await;
    let path = format!("/channels/{}/messages", scene.channel);
    let (_, made) = scene.post(&path, with_button("ready?", "go")).await;
    let shown: u64 = made["id"].as_str().unwrap().parse().unwrap();
    let id = scene.fake.press_label(shown, scene.rider, "Go on");
    let mut body = message("went");
    body["components"] = json!([]);
    assert_eq!(
        scene.answer(id, json!({"type": 7, "data": body})).await.0,
        204
    );
    scene.fake.read(|world| {
        let now = world.bot_last(scene.channel).unwrap();
        assert_eq!(
            (now.content(), now.buttons().len(), now.id()),
            ("went", 0, shown)
        );
    });
    scene.fake.press_stale(shown, scene.rider, "go");
}

#[tokio::test]
#[should_panic(expected = "is disabled")]
async fn nobody_presses_a_disabled_button() {
    let scene = Scene::new().await;
    let mut body = with_button("ready?", "go");
    body["components"][0]["components"][0]["disabled"] = json!(true);
    let (_, made) = scene
        .post(&format!("/channels/{}/messages", scene.channel), body)
        .await;
    scene.fake.press(
        made["id"].as_str().unwrap().parse().unwrap(),
        scene.rider,
        "go",
    );
}

#[tokio::test]
async fn a_select_opens_a_modal_that_is_sent() {
    let scene = Scene::new().await;
    let options = json!([{"label": "Pressure", "value": "p"}]);
    let mut body = message("which?");
    body["components"] =
        json!([{"type": 1, "components": [{"type": 3, "custom_id": "what", "options": options}]}]);
    let (_, made) = scene
        .post(&format!("/channels/{}/messages", scene.channel), body)
        .await;
    let shown: u64 = made["id"].as_str().unwrap().parse().unwrap();
    let (custom_id, values) = scene
        .fake
        .read(|world| world.live(shown).unwrap().select().unwrap());
    let id = scene
        .fake
        .choose(shown, scene.rider, &custom_id, &[&values[0]]);
    let input =
        json!({"type": 4, "custom_id": "value", "style": 1, "label": "Value", "max_length": 10});
    let modal = json!({"title": "Reading", "custom_id": "m", "components": [{"type": 1, "components": [input]}]});
    assert_eq!(
        scene.answer(id, json!({"type": 9, "data": modal})).await.0,
        204
    );
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    let sent = scene
        .fake
        .submit_modal(scene.rider, "m", &[("value", "3.2")]);
    let heard = socket.event("INTERACTION_CREATE").await;
    assert_eq!(
        heard["data"]["components"][0]["components"][0]["value"],
        "3.2"
    );
    assert_eq!(heard["message"]["id"], shown.to_string());
    scene.answer(sent, json!({"type": 6})).await;
}

#[tokio::test]
async fn a_menu_carries_its_message_and_asks_for_rights() {
    let scene = Scene::new().await;
    scene.fake.message_content(false);
    let command = json!({"name": "Start here", "type": 3, "default_member_permissions": MANAGE_GUILD.to_string()});
    scene.register(json!([command])).await;
    let role = scene.fake.role(GUILD, "moderator", MANAGE_GUILD);
    let moderator = scene.fake.member(GUILD, "demo-moderator", &[role]);
    let said = scene
        .fake
        .say(scene.channel, scene.rider, "it will not start");
    let (mut socket, _) = Socket::ready(&scene, 1).await;
    let id = scene
        .fake
        .message_menu(scene.channel, moderator, "Start here", said);
    let heard = socket.event("INTERACTION_CREATE").await;
    assert_eq!(
        heard["data"]["resolved"]["messages"][said.to_string()]["content"],
        "it will not start"
    );
    scene
        .answer(id, json!({"type": 4, "data": message("ok")}))
        .await;
}

#[tokio::test]
async fn completion_gives_choices() {
    let scene = Scene::new().await;
    let option = json!({"type": 3, "name": "part", "description": "d", "autocomplete": true});
    scene
        .register(json!([{"name": "spec", "description": "d", "options": [option]}]))
        .await;
    let id = scene
        .fake
        .autocomplete(scene.channel, scene.rider, "spec", ("part", "pu"));
    let choices = json!({"choices": [{"name": "pump", "value": "pump"}]});
    assert_eq!(
        scene
            .answer(id, json!({"type": 8, "data": choices}))
            .await
            .0,
        204
    );
    assert_eq!(
        scene
            .fake
            .read(|world| world.interaction(id).data["choices"][0]["value"].clone()),
        "pump"
    );
}

#[tokio::test]
async fn people_post_leave_and_the_bot_comes_and_goes() {
    let scene = Scene::new().await;
    let (forum, tags) = scene.fake.forum(GUILD, "faults", &["open"]);
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    let post = scene
        .fake
        .post_in_forum(forum, scene.rider, "It dies", "when hot", &tags);
    assert_eq!(socket.event("THREAD_CREATE").await["newly_created"], true);
    assert_eq!(socket.event("MESSAGE_CREATE").await["id"], post.to_string());
    scene.fake.lock_thread(post);
    assert_eq!(
        socket.event("THREAD_UPDATE").await["thread_metadata"]["locked"],
        true
    );
    scene.fake.delete_channel(post);
    socket.event("THREAD_DELETE").await;
    scene.fake.leave_guild(GUILD);
    assert!(socket.event("GUILD_DELETE").await["unavailable"].is_null());
    scene.fake.join_guild(GUILD);
    socket.event("GUILD_CREATE").await;
}
