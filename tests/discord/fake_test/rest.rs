//! Messages, nonce, files, threads, forums, pins, permissions and paging.

use reqwest::Method;
use serde_json::json;

use super::{GUILD, Scene, message};
use crate::fake::permission::{SEND_MESSAGES, VIEW_CHANNEL};

#[tokio::test]
async fn a_message_is_kept_edited_and_deleted() {
    let scene = Scene::new().await;
    let (status, made) = scene.speak("first").await;
    assert_eq!(status, 200);
    let path = format!(
        "/channels/{}/messages/{}",
        scene.channel,
        made["id"].as_str().unwrap()
    );
    scene.send(Method::PATCH, &path, message("second")).await;
    let texts = scene.fake.read(|world| {
        let last = world.bot_last(scene.channel).unwrap();
        (last.content().to_owned(), last.earlier.len())
    });
    assert_eq!(texts, ("second".to_owned(), 1));
    assert_eq!(scene.send(Method::DELETE, &path, json!(null)).await.0, 204);
    assert_eq!(scene.get(&path).await.1["code"], 10_008);
}

#[tokio::test]
async fn a_repeated_nonce_gives_the_first_message() {
    let scene = Scene::new().await;
    let mut body = message("once");
    body["nonce"] = json!("abc");
    body["enforce_nonce"] = json!(true);
    let path = format!("/channels/{}/messages", scene.channel);
    let (first, second) = (
        scene.post(&path, body.clone()).await,
        scene.post(&path, body).await,
    );
    assert_eq!(first.1["id"], second.1["id"]);
    assert_eq!(
        scene.fake.read(|world| world.bot_said(scene.channel).len()),
        1
    );
}

#[tokio::test]
async fn a_file_arrives_with_its_description() {
    let scene = Scene::new().await;
    let payload =
        json!({"attachments": [{"id": 0, "filename": "path.png", "description": "The path"}]});
    let part = reqwest::multipart::Part::bytes(vec![1, 2, 3, 13, 10, 45]).file_name("path.png");
    let form = reqwest::multipart::Form::new()
        .part("files[0]", part)
        .text("payload_json", payload.to_string());
    let path = format!("/channels/{}/messages", scene.channel);
    let request = scene.request(Method::POST, &path).multipart(form);
    assert_eq!(request.send().await.unwrap().status(), 200);
    let call = scene.fake.requests().pop().unwrap();
    assert_eq!(
        (call.files[0].bytes.as_slice(), call.status),
        (&[1, 2, 3, 13, 10, 45][..], 200)
    );
    let shown = scene
        .fake
        .read(|world| world.bot_last(scene.channel).unwrap().json.clone());
    assert_eq!(shown["attachments"][0]["description"], "The path");
}

#[tokio::test]
async fn pages_come_newest_first() {
    let scene = Scene::new().await;
    let ids: Vec<_> = (0..6)
        .map(|n| scene.fake.say(scene.channel, scene.rider, &n.to_string()))
        .collect();
    let texts = async |query: String| {
        let (_, page) = scene
            .get(&format!("/channels/{}/messages?{query}", scene.channel))
            .await;
        let texts = page
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["content"].as_str().unwrap().to_owned());
        texts.collect::<String>()
    };
    assert_eq!(texts("limit=2".into()).await, "54");
    assert_eq!(texts(format!("limit=2&after={}", ids[1])).await, "32");
    assert_eq!(texts(format!("limit=2&before={}", ids[2])).await, "10");
    assert_eq!(texts(format!("limit=3&around={}", ids[3])).await, "432");
}

#[tokio::test]
async fn a_forum_post_has_tags_a_first_message_and_a_title() {
    let scene = Scene::new().await;
    let (forum, tags) = scene.fake.forum(GUILD, "faults", &["open", "solved"]);
    let body = json!({"name": "It dies", "applied_tags": [tags[0].to_string()], "message": message("hello")});
    let (status, post) = scene
        .post(&format!("/channels/{forum}/threads"), body)
        .await;
    assert_eq!(
        (status, &post["message"]["content"]),
        (201, &json!("hello"))
    );
    let id: u64 = post["id"].as_str().unwrap().parse().unwrap();
    let change = json!({"applied_tags": [tags[1].to_string()], "name": "It dies (solved)", "archived": true});
    scene
        .send(Method::PATCH, &format!("/channels/{id}"), change)
        .await;
    scene.fake.read(|world| {
        assert_eq!(
            (world.tags(id), world.threads(forum)),
            (vec!["solved"], vec![id])
        );
        assert_eq!(world.channel(id)["thread_metadata"]["archived"], true);
    });
    let (_, listed) = scene
        .get(&format!("/channels/{forum}/threads/archived/public"))
        .await;
    assert_eq!(listed["threads"][0]["name"], "It dies (solved)");
}

#[tokio::test]
async fn a_thread_grows_from_a_message_once() {
    let scene = Scene::new().await;
    let from = scene
        .fake
        .say(scene.channel, scene.rider, "it will not start");
    let path = format!("/channels/{}/messages/{from}/threads", scene.channel);
    assert_eq!(scene.post(&path, json!({"name": "a"})).await.0, 201);
    assert_eq!(
        scene.post(&path, json!({"name": "b"})).await.1["code"],
        160_004
    );
    let (_, active) = scene.get(&format!("/guilds/{GUILD}/threads/active")).await;
    assert_eq!(active["threads"][0]["id"], from.to_string());
    scene.fake.archive_thread(from);
    scene.fake.say(from, scene.rider, "and now");
    assert_eq!(
        scene
            .fake
            .read(|world| world.channel(from)["thread_metadata"]["archived"].clone()),
        false
    );
}

#[tokio::test]
async fn pins_live_on_both_paths() {
    let scene = Scene::new().await;
    let (_, made) = scene.speak("summary").await;
    let id = made["id"].as_str().unwrap();
    let path = format!("/channels/{}/messages/pins", scene.channel);
    assert_eq!(
        scene
            .send(Method::PUT, &format!("{path}/{id}"), json!(null))
            .await
            .0,
        204
    );
    assert_eq!(scene.get(&path).await.1["items"][0]["message"]["id"], id);
    let old = format!("/channels/{}/pins", scene.channel);
    assert_eq!(scene.get(&old).await.1[0]["pinned"], true);
    scene
        .send(Method::DELETE, &format!("{old}/{id}"), json!(null))
        .await;
    assert_eq!(
        scene.fake.read(|world| world.pinned(scene.channel)),
        Vec::<u64>::new()
    );
}

#[tokio::test]
async fn what_is_forbidden_is_refused_as_discord_does() {
    let scene = Scene::new().await;
    scene.fake.forbid(scene.channel, SEND_MESSAGES);
    assert_eq!(scene.speak("no").await.1["code"], 50_013);
    scene.fake.allow(scene.channel, SEND_MESSAGES);
    scene.fake.forbid(scene.channel, VIEW_CHANNEL);
    let (status, body) = scene.speak("no").await;
    assert_eq!((status, &body["code"]), (403, &json!(50_001)));
    assert_eq!(scene.fake.pace().0, 2);
}

#[tokio::test]
async fn the_rest_of_the_map_is_there() {
    let scene = Scene::new().await;
    let rider = scene.rider;
    for path in [
        "/users/@me".to_owned(),
        "/applications/@me".to_owned(),
        "/gateway/bot".to_owned(),
        format!("/guilds/{GUILD}"),
        format!("/guilds/{GUILD}/channels"),
        format!("/guilds/{GUILD}/members/{rider}"),
        format!("/channels/{}", scene.channel),
    ] {
        assert_eq!(scene.get(&path).await.0, 200, "{path}");
    }
    scene
        .post(&format!("/channels/{}/typing", scene.channel), json!(null))
        .await;
    assert_eq!(scene.fake.read(|world| world.typed(scene.channel)), 1);
    assert_eq!(scene.get("/voice/regions").await.0, 404);
    assert_eq!(scene.fake.take_breaches().len(), 1);
}

#[tokio::test]
async fn without_the_intent_text_is_hidden() {
    let scene = Scene::new().await;
    scene.fake.message_content(false);
    let bot = scene.fake.application();
    let plain = scene.fake.say(scene.channel, scene.rider, "plain");
    let named = scene
        .fake
        .say(scene.channel, scene.rider, &format!("<@{bot}> named"));
    let path = format!("/channels/{}/messages", scene.channel);
    assert_eq!(scene.get(&format!("{path}/{plain}")).await.1["content"], "");
    assert_eq!(
        scene.get(&format!("{path}/{named}")).await.1["content"],
        format!("<@{bot}> named")
    );
}
