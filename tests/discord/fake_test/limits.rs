//! Pace: buckets, 429 and its Retry-After, ordered failures, cut connections, who sends.

use std::time::{Duration, Instant};

use reqwest::Method;
use serde_json::json;

use super::{Scene, message};
use crate::fake::failure::Failure;
use crate::fake::permission::SEND_MESSAGES;

const SHORT: Duration = Duration::from_millis(300);

#[tokio::test]
async fn a_bucket_counts_down_and_refuses() {
    let scene = Scene::new().await;
    // The third request comes too early on purpose.
    scene.fake.set(|settings| settings.limits.grace = SHORT);
    scene
        .fake
        .limit("POST", r"^/channels/\d+/messages$", 2, SHORT);
    assert_eq!(scene.speak("1").await.0, 200);
    let path = format!("/channels/{}/messages", scene.channel);
    let request = scene
        .request(Method::POST, &path)
        .body(message("2").to_string());
    let headers = request.send().await.unwrap().headers().clone();
    assert_eq!(headers["x-ratelimit-remaining"], "0");
    let (status, body) = scene.speak("3").await;
    assert_eq!((status, &body["global"]), (429, &json!(false)));
    tokio::time::sleep(SHORT).await;
    assert_eq!(scene.speak("4").await.0, 200);
}

#[tokio::test]
async fn asking_again_too_early_is_a_breach() {
    let scene = Scene::new().await;
    scene
        .fake
        .set(|settings| settings.limits.grace = Duration::ZERO);
    scene
        .fake
        .fail_next("POST", "messages$", Failure::too_many(SHORT));
    assert_eq!(scene.speak("1").await.0, 429);
    assert_eq!(scene.speak("2").await.0, 429);
    assert!(scene.fake.take_breaches()[0].contains("before the Retry-After"));
    tokio::time::sleep(SHORT).await;
    scene
        .fake
        .fail_next("POST", "messages$", Failure::too_many_global(SHORT));
    scene.speak("3").await;
    scene.get("/users/@me").await;
    assert!(scene.fake.take_breaches()[0].contains("Retry-After of *"));
}

#[tokio::test]
async fn more_than_fifty_a_second_is_a_breach() {
    let scene = Scene::new().await;
    scene
        .fake
        .set(|settings| settings.limits.requests_per_second = 3);
    for _ in 0..4 {
        scene.get("/users/@me").await;
    }
    assert_eq!(scene.fake.take_breaches().len(), 1);
    assert_eq!(scene.fake.pace().1, 4);
}

#[tokio::test]
async fn failures_come_as_ordered() {
    let scene = Scene::new().await;
    scene
        .fake
        .fail_next("POST", "messages$", Failure::status(503).times(2));
    let got = [
        scene.speak("1").await.0,
        scene.speak("2").await.0,
        scene.speak("3").await.0,
    ];
    assert_eq!(got, [503, 503, 200]);
    scene
        .fake
        .fail_next("*", "users", Failure::slow_answer(SHORT));
    let start = Instant::now();
    scene.get("/users/@me").await;
    assert!(start.elapsed() >= SHORT);
    assert_eq!(scene.fake.failures_left(), 0);
}

#[tokio::test]
async fn a_cut_connection_loses_the_answer_or_the_request() {
    let scene = Scene::new().await;
    let path = format!("/channels/{}/messages", scene.channel);
    for (failure, kept) in [(Failure::cut(), 0), (Failure::cut_after(), 1)] {
        scene.fake.fail_next("POST", "messages$", failure);
        let request = scene
            .request(Method::POST, &path)
            .body(message("x").to_string());
        assert!(request.send().await.is_err());
        assert_eq!(
            scene.fake.read(|world| world.bot_said(scene.channel).len()),
            kept
        );
    }
}

#[tokio::test]
async fn who_does_not_say_who_it_is_breaks_the_rules() {
    let scene = Scene::new().await;
    let client = scene.fake.http_client();
    let response = client
        .get("https://discord.com/api/v10/users/@me")
        .send()
        .await
        .unwrap();
    assert_eq!(response.status(), 401);
    let breaches = scene.fake.take_breaches();
    assert!(
        breaches[0].contains("User-Agent") && breaches[1].contains("no Authorization"),
        "{breaches:?}"
    );
}

#[tokio::test]
async fn the_proxy_leads_every_host_to_the_fake() {
    let scene = Scene::new().await;
    let root = reqwest::Certificate::from_pem(scene.fake.root_pem().as_bytes()).unwrap();
    let proxy = reqwest::Proxy::https(scene.fake.proxy_address()).unwrap();
    let client = reqwest::Client::builder()
        .add_root_certificate(root)
        .proxy(proxy)
        .build()
        .unwrap();
    let request = client
        .get("https://discord.com/api/v10/gateway")
        .header("user-agent", "DiscordBot (a, 1)");
    let text = request.send().await.unwrap().text().await.unwrap();
    assert!(text.contains(&scene.fake.gateway_address()), "{text}");
}

#[tokio::test]
async fn too_many_invalid_requests_are_a_breach() {
    let scene = Scene::new().await;
    scene
        .fake
        .set(|settings| settings.limits.invalid_requests = 1);
    scene.fake.forbid(scene.channel, SEND_MESSAGES);
    for _ in 0..2 {
        assert_eq!(scene.speak("no").await.0, 403);
    }
    assert!(scene.fake.take_breaches()[0].contains("invalid request 2"));
}

#[tokio::test]
async fn a_token_dies() {
    let scene = Scene::new().await;
    scene
        .register(json!([{"name": "why", "description": "d"}]))
        .await;
    let id = scene.fake.slash(scene.channel, scene.rider, "why", &[]);
    let token = scene.fake.read(|world| world.interaction(id).token.clone());
    let path = format!("/webhooks/{}/{token}", scene.fake.application());
    assert_eq!(scene.post(&path, message("early")).await.1["code"], 10_015);
    scene.answer(id, json!({"type": 5})).await;
    scene
        .fake
        .set(|settings| settings.limits.token = Duration::ZERO);
    assert_eq!(scene.post(&path, message("late")).await.1["code"], 50_027);
    assert_eq!(scene.fake.take_breaches().len(), 2);
}
