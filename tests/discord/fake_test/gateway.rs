//! The gateway: start, resume, loss, order, shards, and what it does not bear.

use std::time::Duration;

use serde_json::{Value, json};

use super::socket::{INTENTS, Socket};
use super::{GUILD, Scene};
use crate::fake::gateway::What;

#[tokio::test]
async fn a_session_starts_beats_and_hears() {
    let scene = Scene::new().await;
    let (mut socket, ready) = Socket::ready(&scene, INTENTS).await;
    assert_eq!(ready["guilds"][0]["unavailable"], true);
    socket.send(json!({"op": 1, "d": 2})).await;
    assert_eq!(socket.next().await["op"], 11);
    scene.fake.say(scene.channel, scene.rider, "hello");
    let heard = socket.event("MESSAGE_CREATE").await;
    assert_eq!(
        (&heard["content"], &heard["guild_id"]),
        (&json!("hello"), &json!(GUILD.to_string()))
    );
    scene.speak("echo").await;
    assert_eq!(socket.event("MESSAGE_CREATE").await["author"]["bot"], true);
}

#[tokio::test]
async fn resuming_replays_what_was_missed() {
    let scene = Scene::new().await;
    let (mut socket, ready) = Socket::ready(&scene, INTENTS).await;
    scene.fake.reset_gateway();
    assert!(socket.next().await["end"].is_string());
    for text in ["one", "two"] {
        scene.fake.say(scene.channel, scene.rider, text);
    }
    let mut socket = resume(&scene, &ready, 2).await;
    assert_eq!(socket.event("MESSAGE_CREATE").await["content"], "one");
    assert_eq!(socket.event("MESSAGE_CREATE").await["content"], "two");
    socket.event("RESUMED").await;
    assert_eq!((scene.fake.identifies(), scene.fake.resumes()), (1, (1, 1)));
}

async fn resume(scene: &Scene, ready: &Value, seq: u64) -> Socket {
    let mut socket = Socket::connect(ready["resume_gateway_url"].as_str().unwrap()).await;
    let wish = json!({"token": scene.fake.token(), "session_id": ready["session_id"], "seq": seq});
    socket.send(json!({"op": 6, "d": wish})).await;
    socket
}

#[tokio::test]
async fn a_lost_session_is_told() {
    let scene = Scene::new().await;
    let (mut socket, ready) = Socket::ready(&scene, INTENTS).await;
    scene.fake.ask_to_reconnect();
    assert_eq!(socket.next().await["op"], 7);
    scene.fake.close_gateway(None);
    assert_eq!(socket.next().await, json!({"close": null}));
    scene.fake.lose_sessions();
    let mut socket = resume(&scene, &ready, 2).await;
    let told = socket.next().await;
    assert_eq!((&told["op"], &told["d"]), (&json!(9), &json!(false)));
}

#[tokio::test]
async fn a_closed_gateway_tells_its_code() {
    let scene = Scene::new().await;
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    scene.fake.invalidate_session(true);
    assert_eq!(socket.next().await["d"], true);
    scene.fake.close_gateway(Some(4009));
    assert_eq!(socket.next().await["close"], 4009);
    scene.fake.refuse_connections(true);
    let address = format!("{}/?v=10&encoding=json", scene.fake.gateway_address());
    assert!(tokio_tungstenite::connect_async(address).await.is_err());
    assert_eq!(scene.fake.gateway_times(None, What::Refused).len(), 1);
}

#[tokio::test]
async fn privileged_intents_must_be_granted() {
    let scene = Scene::new().await;
    scene.fake.message_content(false);
    let mut socket = Socket::connect(&scene.fake.gateway_address()).await;
    socket.identify(&scene, INTENTS, [0, 1]).await;
    assert_eq!(socket.next().await["close"], 4014);
    let (mut socket, _) = Socket::ready(&scene, 1 | 1 << 9).await;
    let said = scene.fake.say(scene.channel, scene.rider, "secret");
    assert_eq!(socket.event("MESSAGE_CREATE").await["content"], "");
    scene.fake.start_thread(said, scene.rider, "thread");
    for name in ["THREAD_CREATE", "MESSAGE_UPDATE", "MESSAGE_CREATE"] {
        let told = socket.event(name).await;
        assert!(!told.to_string().contains("secret"), "{told}");
    }
}

#[tokio::test]
async fn events_come_twice_late_and_in_another_order() {
    let scene = Scene::new().await;
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    scene.fake.hold_events();
    for text in ["one", "two"] {
        scene.fake.say(scene.channel, scene.rider, text);
    }
    scene.fake.release_events(|events| events.reverse());
    scene.fake.repeat_event("MESSAGE_CREATE");
    scene
        .fake
        .emit("SOMETHING_NEW", Some(GUILD), json!({"odd": true}));
    for text in ["two", "one", "two"] {
        assert_eq!(socket.event("MESSAGE_CREATE").await["content"], text);
    }
    socket.event("SOMETHING_NEW").await;
}

#[tokio::test]
async fn a_shard_hears_only_its_guilds() {
    let scene = Scene::new().await;
    scene.fake.set(|settings| settings.max_concurrency = 2);
    let mut sockets = Vec::new();
    for shard in 0..2 {
        let mut socket = Socket::connect(&scene.fake.gateway_address()).await;
        socket.identify(&scene, INTENTS, [shard, 2]).await;
        assert_eq!(socket.event("READY").await["shard"], json!([shard, 2]));
        sockets.push(socket);
    }
    scene.fake.wait_for_shards(2).await;
    sockets[0].event("GUILD_CREATE").await;
    scene.fake.say(scene.channel, scene.rider, "hello");
    sockets[0].event("MESSAGE_CREATE").await;
    scene.fake.ask_heartbeat();
    assert_eq!(sockets[1].next().await["op"], 1);
    assert_eq!(scene.fake.gateway_times(Some(1), What::Identified).len(), 1);
}

#[tokio::test]
async fn haste_size_and_silence_are_breaches() {
    let scene = Scene::new().await;
    scene.fake.heartbeat_interval(Duration::from_millis(100));
    scene.fake.set(|settings| settings.limits.gateway_sends = 2);
    let (mut first, _) = Socket::ready(&scene, INTENTS).await;
    first.send(json!({"op": 3, "d": "x".repeat(4097)})).await;
    first.send(json!({"op": 1, "d": 99})).await;
    let mut second = Socket::connect(&scene.fake.gateway_address()).await;
    second.identify(&scene, INTENTS, [0, 1]).await;
    assert_eq!(second.next().await["op"], 9);
    assert_eq!(second.next().await["close"], 4009);
    let breaches = scene.fake.take_breaches().join("\n");
    for wanted in [
        "4096 allowed",
        "within a minute",
        "heartbeat tells sequence",
        "sent IDENTIFY",
        "no heartbeat in time",
    ] {
        assert!(breaches.contains(wanted), "{wanted} is not in\n{breaches}");
    }
}

#[tokio::test]
async fn unanswered_heartbeats_stay_unanswered() {
    let scene = Scene::new().await;
    let (mut socket, _) = Socket::ready(&scene, INTENTS).await;
    scene.fake.acknowledge(false);
    socket.send(json!({"op": 1, "d": null})).await;
    scene
        .fake
        .wait_until("the heartbeat", |world| {
            world
                .gateway
                .times(Some(0), |one| one == What::Heartbeat)
                .len()
                == 1
        })
        .await;
    scene.fake.acknowledge(true);
    socket.send(json!({"op": 1, "d": null})).await;
    assert_eq!(socket.next().await["op"], 11);
}
