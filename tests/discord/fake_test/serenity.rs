//! Everything the fake sends is read by serenity's models, and its HTTP client works against it unchanged.

use serde_json::{Value, json};
use serenity::all::{
    ChannelId, CreateActionRow, CreateAllowedMentions, CreateAttachment, CreateButton,
    CreateCommand, CreateForumPost, CreateInteractionResponse, CreateInteractionResponseMessage,
    CreateMessage, CreateThread, EditThread, Event, GatewayEvent, GuildId, Http, HttpBuilder,
    Interaction,
};

use super::socket::{INTENTS, Socket};
use super::{GUILD, Scene, message, with_button};

/// Reads a frame as serenity does; an event it does not know is a failure.
fn read(frame: &Value) -> Event {
    match serde_json::from_value::<GatewayEvent>(frame.clone()) {
        Ok(GatewayEvent::Dispatch(_, event)) => {
            assert!(
                !matches!(event, Event::Unknown(_)),
                "unknown to serenity: {frame}"
            );
            event
        }
        other => panic!("{other:?}: {frame}"),
    }
}

fn http(scene: &Scene) -> Http {
    let builder = HttpBuilder::new(scene.fake.token()).client(scene.fake.http_client());
    let mentions = CreateAllowedMentions::new();
    builder
        .default_allowed_mentions(mentions)
        .application_id(scene.fake.application().into())
        .build()
}

/// Reads everything up to an event of the test's own; gives the names.
async fn read_all(scene: &Scene, socket: &mut Socket) -> Vec<String> {
    scene.fake.emit("THE_END", None, Value::Null);
    let mut names = Vec::new();
    loop {
        let frame = socket.next().await;
        if frame["t"] == "THE_END" {
            names.sort();
            names.dedup();
            return names;
        }
        read(&frame);
        names.push(frame["t"].as_str().unwrap_or_default().to_owned());
    }
}

#[tokio::test]
async fn every_event_is_read() {
    let scene = Scene::new().await;
    scene.fake.set(|settings| settings.privileged |= 2);
    let (forum, tags) = scene.fake.forum(GUILD, "faults", &["open"]);
    let (mut socket, ready) = Socket::ready(&scene, INTENTS | 2 | 1 << 12).await;
    read(&json!({"op": 0, "s": 1, "t": "READY", "d": ready}));
    let said = scene.fake.say(scene.channel, scene.rider, "hello");
    scene.fake.edit_message(said, "hello again");
    scene.fake.start_thread(said, scene.rider, "thread");
    let post = scene
        .fake
        .post_in_forum(forum, scene.rider, "It dies", "when hot", &tags);
    let shown = button_in(&scene, post).await;
    let pin = format!("/channels/{post}/messages/pins/{shown}");
    scene.send(reqwest::Method::PUT, &pin, Value::Null).await;
    let private = scene.fake.direct(scene.rider);
    scene.fake.say(private, scene.rider, "in private");
    scene.fake.delete_message(said);
    scene.fake.lock_thread(post);
    scene.fake.delete_channel(post);
    scene.fake.member_leaves(GUILD, scene.rider);
    scene.fake.guild_outage(GUILD);
    scene.fake.join_guild(GUILD);
    let names = read_all(&scene, &mut socket).await;
    assert_eq!(names.len(), 10, "{names:?}");
}

async fn button_in(scene: &Scene, channel: u64) -> u64 {
    let path = format!("/channels/{channel}/messages");
    let (_, made) = scene.post(&path, with_button("ready?", "go")).await;
    made["id"].as_str().unwrap().parse().unwrap()
}

async fn register_three(scene: &Scene) {
    let part = json!({"type": 3, "name": "part", "description": "d", "autocomplete": true});
    let who = json!({"type": 6, "name": "who", "description": "d"});
    let spec = json!({"name": "spec", "description": "d", "options": [part, who]});
    scene
        .register(json!([spec, {"name": "Start here", "type": 3}]))
        .await;
}

#[tokio::test]
async fn every_interaction_is_read() {
    let scene = Scene::new().await;
    register_three(&scene).await;
    let (forum, tags) = scene.fake.forum(GUILD, "faults", &["open"]);
    let post = scene
        .fake
        .post_in_forum(forum, scene.rider, "It dies", "when hot", &tags);
    let shown = button_in(&scene, post).await;
    let (mut socket, _) = Socket::ready(&scene, 1).await;
    let rider = scene.rider;
    let options = [("part", json!("pump")), ("who", json!(rider.to_string()))];
    scene.fake.slash(post, rider, "spec", &options);
    scene.fake.autocomplete(post, rider, "spec", ("part", "pu"));
    scene.fake.message_menu(post, rider, "Start here", post);
    let pressed = scene.fake.press(shown, rider, "go");
    let input = json!({"type": 4, "custom_id": "v", "style": 1, "label": "Value"});
    let rows = json!([{"type": 1, "components": [input]}]);
    let modal = json!({"title": "Reading", "custom_id": "m", "components": rows});
    scene
        .answer(pressed, json!({"type": 9, "data": modal}))
        .await;
    scene.fake.submit_modal(rider, "m", &[("v", "3.2")]);
    for kind in [2, 4, 2, 3, 5] {
        let frame = socket.next().await;
        let Event::InteractionCreate(event) = read(&frame) else {
            panic!("{frame}")
        };
        assert_eq!(u8::from(event.interaction.kind()), kind);
    }
}

#[tokio::test]
async fn the_client_speaks_and_starts_threads() {
    let scene = Scene::new().await;
    let http = http(&scene);
    let channel = ChannelId::new(scene.channel);
    let picture = CreateAttachment::bytes(vec![1, 2], "path.png").description("The path");
    let button = CreateButton::new("go").label("Go on");
    let rows = vec![CreateActionRow::Buttons(vec![button])];
    let body = CreateMessage::new()
        .content("hello")
        .add_file(picture)
        .components(rows);
    let made = channel.send_message(&http, body).await.unwrap();
    made.pin(&http).await.unwrap();
    channel.broadcast_typing(&http).await.unwrap();
    let wish = CreateThread::new("It dies");
    let thread = channel
        .create_thread_from_message(&http, made.id, wish)
        .await
        .unwrap();
    let change = EditThread::new().archived(true);
    thread.id.edit_thread(&http, change).await.unwrap();
    let (forum, _) = scene.fake.forum(GUILD, "faults", &[]);
    // The client's default for allowed mentions does not reach the first message of a forum post.
    let first = CreateMessage::new()
        .content("when hot")
        .allowed_mentions(CreateAllowedMentions::new());
    let post = CreateForumPost::new("It dies", first);
    ChannelId::new(forum)
        .create_forum_post(&http, post)
        .await
        .unwrap();
}

#[tokio::test]
async fn the_client_reads_everything() {
    let scene = Scene::new().await;
    let http = http(&scene);
    let (channel, guild) = (ChannelId::new(scene.channel), GuildId::new(GUILD));
    let said = scene.fake.say(scene.channel, scene.rider, "hello");
    scene.fake.start_thread(said, scene.rider, "awake");
    let said = scene.fake.say(scene.channel, scene.rider, "hello");
    scene
        .fake
        .archive_thread(scene.fake.start_thread(said, scene.rider, "asleep"));
    assert_eq!(
        http.get_messages(channel, None, Some(10))
            .await
            .unwrap()
            .len(),
        2
    );
    guild.to_partial_guild(&http).await.unwrap();
    assert_eq!(guild.channels(&http).await.unwrap().len(), 1);
    assert_eq!(
        guild.get_active_threads(&http).await.unwrap().threads.len(),
        1
    );
    let asleep = http
        .get_channel_archived_public_threads(channel, None, None)
        .await;
    assert_eq!(asleep.unwrap().threads.len(), 1);
    guild.member(&http, scene.rider).await.unwrap();
    http.get_current_user().await.unwrap();
    http.get_current_application_info().await.unwrap();
    assert_eq!(http.get_bot_gateway().await.unwrap().shards, 1);
}

#[tokio::test]
async fn the_client_registers_and_answers() {
    let scene = Scene::new().await;
    let http = http(&scene);
    let guild = GuildId::new(GUILD);
    let commands = vec![CreateCommand::new("why").description("Why this step")];
    assert_eq!(guild.set_commands(&http, commands).await.unwrap().len(), 1);
    let (mut socket, _) = Socket::ready(&scene, 1).await;
    let id = scene.fake.slash(scene.channel, scene.rider, "why", &[]);
    let Event::InteractionCreate(event) = read(&socket.next().await) else {
        panic!("no interaction")
    };
    let Interaction::Command(command) = event.interaction else {
        panic!("no command")
    };
    let answer = CreateInteractionResponseMessage::new()
        .content("because")
        .ephemeral(true);
    command
        .create_response(&http, CreateInteractionResponse::Message(answer))
        .await
        .unwrap();
    assert_eq!(
        command.get_response(&http).await.unwrap().content,
        "because"
    );
    assert_eq!(
        scene.fake.read(|world| world.answer(id).unwrap().only_for),
        Some(scene.rider)
    );
    scene.speak(&message("x")["content"].to_string()).await;
}
