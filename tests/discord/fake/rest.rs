//! The REST side's map: who may ask, and which handler answers which path.

mod channel;
mod command;
mod guild;
mod interaction;
mod message;
mod pin;
pub mod post;
mod thread;

use serde_json::{Value, json};

use super::call::Call;
use super::reply::{Answer, Reply, unknown};
use super::world::World;

/// Answers a request. What the fake does not know is a breach, never silently taken.
pub fn answer(world: &mut World, call: &Call) -> Reply {
    if let Some(reason) = &call.unreadable {
        world.breach(format!("{}: {reason}", call.title()));
        return Reply::error(400, 0, reason);
    }
    if let Err(refusal) = admit(world, call) {
        return refusal;
    }
    let parts: Vec<_> = call.path.trim_start_matches('/').split('/').collect();
    if let Some(Ok(reply) | Err(reply)) = route(world, call, &parts) {
        return reply;
    }
    world.breach(format!("{}: the fake knows no such route", call.title()));
    Reply::error(404, 0, "404: Not Found")
}

/// Every request tells who sends it (Discord developer documentation, API Reference, Authentication and User
/// Agent); callbacks and webhooks carry their token in the path.
fn admit(world: &mut World, call: &Call) -> Result<(), Reply> {
    let agent = call.header("user-agent").unwrap_or_default();
    if !agent.starts_with("DiscordBot (") {
        world.breach(format!(
            "{}: User-Agent {agent:?} is not \"DiscordBot (url, version)\"",
            call.title()
        ));
    }
    if matches!(
        call.path.split('/').nth(1),
        Some("interactions" | "webhooks")
    ) || call.path == "/gateway"
    {
        return Ok(());
    }
    match call.header("authorization") {
        Some(told) if told.strip_prefix("Bot ") == Some(&world.token) => Ok(()),
        Some(_) => Err(Reply::error(401, 0, "401: Unauthorized")),
        None => {
            world.breach(format!("{}: no Authorization", call.title()));
            Err(Reply::error(401, 0, "401: Unauthorized"))
        }
    }
}

fn route(world: &mut World, call: &Call, parts: &[&str]) -> Option<Answer> {
    match (call.method.as_str(), parts) {
        ("GET", ["users", "@me"]) => Some(Ok(Reply::with(own_user(world)))),
        ("POST", ["users", "@me", "channels"]) => Some(channel::open_direct(world, call)),
        ("GET", ["applications" | "oauth2", "@me"] | ["oauth2", "applications", "@me"]) => {
            Some(Ok(Reply::with(application(world))))
        }
        ("GET", ["gateway"]) => Some(gateway(world, false)),
        ("GET", ["gateway", "bot"]) => Some(gateway(world, true)),
        (_, ["applications", app, rest @ ..]) if id(app)? == world.application => {
            command::route(world, call, rest)
        }
        (_, ["interactions", of, token, "callback"]) if call.method == "POST" => {
            Some(interaction::callback(world, call, id(of)?, token))
        }
        (_, ["webhooks", app, token, rest @ ..]) => {
            interaction::webhook(world, call, (id(app)?, token), rest)
        }
        (_, ["channels", of, rest @ ..]) => channel::route(world, call, id(of)?, rest),
        ("GET", ["guilds", of, rest @ ..]) => guild::route(world, id(of)?, rest),
        _ => None,
    }
}

/// An id in a path.
fn id(text: &str) -> Option<u64> {
    text.parse().ok()
}

fn own_user(world: &World) -> Value {
    let mut user = world.user_json(world.bot);
    super::world::merge(
        &mut user,
        &json!({"verified": true, "email": null, "mfa_enabled": true, "locale": "en-US", "bio": ""}),
    );
    user
}

fn application(world: &World) -> Value {
    let id = world.application.to_string();
    json!({
        "id": id, "name": "demo-bot", "icon": null, "description": "An application of the fake", "summary": "",
        "bot_public": true, "bot_require_code_grant": false, "verify_key": "00", "team": null, "hook": true,
        "flags": 1 << 19, "bot": world.user_json(world.bot), "owner": world.user_json(world.bot), "rpc_origins": [],
        "approximate_guild_count": world.guilds.len(), "install_params": null,
        "interactions_endpoint_url": null, "role_connections_verification_url": null, "tags": [],
    })
}

fn gateway(world: &World, bot: bool) -> Answer {
    if let Some(status) = world.settings.gateway_status {
        return Err(Reply::error(status, 0, "ordered by the test"));
    }
    let settings = &world.settings;
    let mut told = json!({"url": world.gateway.address});
    if bot {
        told["shards"] = json!(settings.shards);
        told["session_start_limit"] = json!({
            "total": 1000, "remaining": settings.starts_left, "reset_after": 14_400_000,
            "max_concurrency": settings.max_concurrency,
        });
    }
    Ok(Reply::with(told))
}

/// The channel, if it exists and the bot holds the bits: 404, 403 with 50001, or 403 with 50013 otherwise.
fn reach(world: &World, channel: u64, bits: u64) -> Result<Value, Reply> {
    use super::permission::VIEW_CHANNEL;
    use super::reply::{missing_access, missing_permissions};
    let found = world
        .channels
        .get(&channel)
        .ok_or_else(|| unknown("Channel"))?;
    if !world.bot_may(channel, VIEW_CHANNEL) {
        return Err(missing_access());
    }
    if !world.bot_may(channel, bits) {
        return Err(missing_permissions());
    }
    Ok(found.clone())
}
