//! What most tests do not need: rare failures, rare people, rare settings.

use std::time::{Duration, Instant};

use reqwest::Method;
use serde_json::json;

use super::socket::{INTENTS, Socket};
use super::{GUILD, Scene, message};
use crate::fake::failure::Failure;
use crate::fake::permission::SEND_MESSAGES;

#[tokio::test]
async fn failures_carry_what_the_test_gives_them() {
    let scene = Scene::new().await;
    let wait = Duration::from_millis(50);
    let odd = Failure::error(400, 50_001)
        .body(json!({"odd": 1}))
        .header("x-odd", &"yes");
    scene.fake.fail_next("GET", "users", odd);
    let response = scene
        .request(Method::GET, "/users/@me")
        .send()
        .await
        .unwrap();
    assert_eq!(
        (
            response.status().as_u16(),
            response.headers()["x-odd"].to_str().unwrap()
        ),
        (400, "yes")
    );
    assert_eq!(response.text().await.unwrap(), r#"{"odd":1}"#);
    scene
        .fake
        .fail_next("GET", "users", Failure::too_many_shared(wait));
    assert_eq!(scene.get("/users/@me").await.0, 429);
    assert_eq!(scene.fake.pace().0, 0);
    tokio::time::sleep(wait).await;
    scene.fake.fail_next("GET", "users", Failure::slow(wait));
    let start = Instant::now();
    scene.get("/users/@me").await;
    assert!(start.elapsed() >= wait);
    scene.fake.fail_next("GET", "users", Failure::status(500));
    scene.fake.stop_failing();
    assert_eq!(scene.get("/users/@me").await.0, 200);
    assert_eq!(scene.fake.requests_like("GET", "^/users").len(), 4);
}

#[tokio::test]
async fn the_gateway_can_be_difficult() {
    let scene = Scene::new().await;
    scene.fake.set(|settings| settings.limits.faster(1000));
    scene.fake.refuse_identify(4004);
    let mut socket = Socket::connect(&scene.fake.gateway_address()).await;
    socket.identify(&scene, INTENTS, [0, 1]).await;
    assert_eq!(socket.next().await["close"], 4004);
    scene.fake.withhold_ready(true);
    let mut socket = Socket::connect(&scene.fake.gateway_address()).await;
    socket.identify(&scene, INTENTS, [0, 1]).await;
    scene
        .fake
        .wait_until("IDENTIFY", |world| {
            world.connected() == 0 && !world.gateway.identify_times.is_empty()
        })
        .await;
    scene.fake.send_raw(r#"{"op": 77}"#);
    assert_eq!(socket.next().await["op"], 77);
}

#[tokio::test]
async fn one_shard_can_be_closed_alone() {
    let scene = Scene::new().await;
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    scene.fake.close_shard(7, Some(4000));
    scene.fake.close_shard(0, Some(4000));
    assert_eq!(socket.next().await["close"], 4000);
}

#[tokio::test]
async fn people_and_channels_can_be_arranged() {
    let scene = Scene::new().await;
    let bot = scene.fake.other_bot(GUILD, "another-bot");
    scene.fake.speaks(scene.rider, "de");
    let (forum, tags) = scene.fake.forum(GUILD, "faults", &["open"]);
    scene.fake.arrange(forum, &json!({"flags": 16}));
    let body = json!({"name": "It dies", "message": message("hello")});
    assert_eq!(
        scene
            .post(&format!("/channels/{forum}/threads"), body)
            .await
            .1["code"],
        40_067
    );
    let post = scene
        .fake
        .post_in_forum(forum, scene.rider, "It dies", "hot", &tags);
    scene.register(json!([{"name": "Who", "type": 2}])).await;
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    scene.fake.user_menu(post, scene.rider, "Who", bot);
    let heard = socket.event("INTERACTION_CREATE").await;
    assert_eq!(
        (&heard["locale"], &heard["data"]["target_id"]),
        (&json!("de"), &json!(bot.to_string()))
    );
    scene.fake.forbid_for(forum, GUILD, SEND_MESSAGES);
    let held = scene
        .fake
        .read(|world| world.permissions_in(post, scene.rider));
    assert_eq!(held & SEND_MESSAGES, 0);
}

#[tokio::test]
async fn pings_pins_and_pictures_of_people() {
    let scene = Scene::new().await;
    let picture = json!({"id": "1", "filename": "a.png", "size": 1, "url": "https://a.invalid", "proxy_url": "https://a.invalid"});
    let said = scene.fake.say_with(
        scene.channel,
        scene.rider,
        &json!({"content": "look", "attachments": [picture]}),
    );
    let mut body = message("hello <@1>");
    body["message_reference"] = json!({"message_id": said.to_string()});
    body["allowed_mentions"]["replied_user"] = json!(true);
    body["embeds"] = json!([{"title": "a", "fields": [{"name": "b", "value": "c"}]}]);
    let (_, made) = scene
        .post(&format!("/channels/{}/messages", scene.channel), body)
        .await;
    let id: u64 = made["id"].as_str().unwrap().parse().unwrap();
    scene.fake.read(|world| {
        let reply = world.live(id).unwrap();
        assert_eq!(
            (reply.pings.as_slice(), reply.whole_text().as_str()),
            (&[scene.rider][..], "hello <@1>\na\nb\nc")
        );
        assert!(reply.at > world.live(said).unwrap().at);
    });
    let path = format!("/channels/{}/messages/pins/{id}", scene.channel);
    scene.send(Method::PUT, &path, json!(null)).await;
    scene.fake.unpin(scene.channel, id);
    assert!(
        scene
            .fake
            .read(|world| world.pinned(scene.channel).is_empty())
    );
}

#[tokio::test]
async fn silence_after_an_interaction_is_a_breach() {
    let scene = Scene::new().await;
    scene
        .register(json!([{"name": "why", "description": "d"}]))
        .await;
    scene
        .fake
        .set(|settings| settings.limits.answer = Duration::ZERO);
    scene.fake.slash(scene.channel, scene.rider, "why", &[]);
    assert!(scene.fake.breaches()[0].contains("was not answered"));
    assert_eq!(scene.fake.take_breaches().len(), 1);
    assert!(
        scene
            .fake
            .read(|world| world.last_modal(scene.rider).is_none())
    );
}

#[tokio::test]
#[should_panic(expected = "waited 10ms in vain for a miracle")]
async fn waiting_in_vain_tells_the_story() {
    let scene = Scene::new().await;
    scene
        .fake
        .set(|settings| settings.patience = Duration::from_millis(10));
    scene.fake.wait_until("a miracle", |_| false).await;
}

#[tokio::test]
#[should_panic(expected = "1 breaches")]
async fn a_fake_dropped_with_breaches_fails_its_test() {
    let scene = Scene::new().await;
    scene.get("/nowhere").await;
}
