//! Answers to interactions: the callback, its message, follow-ups (Discord developer documentation, Receiving
//! and Responding to Interactions).

use serde_json::{Value, json};

use super::id;
use super::post::Post;
use crate::fake::call::Call;
use crate::fake::check::message::{Stage, check};
use crate::fake::check::{list, modal};
use crate::fake::reply::{Answer, Reply, invalid_form, unknown};
use crate::fake::world::{Interaction, World, merge};

/// Flag of a message that only the person who acted sees.
const EPHEMERAL: u64 = 1 << 6;
/// Flag of an answer that shows "thinking".
const LOADING: u64 = 1 << 7;

/// Create Interaction Response: once, within three seconds.
pub fn callback(world: &mut World, call: &Call, id: u64, token: &str) -> Answer {
    let found = world.interactions.get(&id);
    let Some(known) = found.filter(|one| one.token == token).cloned() else {
        world.breach(format!("{}: no such interaction", call.title()));
        return Err(unknown("Interaction"));
    };
    let kind = call.body["type"].as_u64().unwrap_or(0);
    let after = known.at.elapsed();
    let outcome = admit(world, &known, kind).and_then(|()| perform(world, call, &known, kind));
    if let Some(kept) = world.interactions.get_mut(&id) {
        kept.answered_after.get_or_insert(after);
        if outcome.is_ok() {
            kept.answer = Some(kind);
            kept.data = call.body["data"].clone();
        }
    }
    outcome?;
    if call.asked("with_response") != Some("true") {
        return Ok(Reply::nothing());
    }
    Ok(Reply::with(described(world, id, kind)))
}

/// Whether an answer comes in time, for the first time, and is one this interaction takes.
fn admit(world: &mut World, known: &Interaction, kind: u64) -> Result<(), Reply> {
    let (name, late) = (&known.name, known.at.elapsed());
    if late > world.settings.limits.answer {
        world.breach(format!("interaction {name:?} answered after {late:?}"));
        return Err(unknown("Interaction"));
    }
    if known.answer.is_some() {
        world.breach(format!("interaction {name:?} answered twice"));
        let message = "Interaction has already been acknowledged.";
        return Err(Reply::error(400, 40_060, message));
    }
    if fits(known, kind) {
        return Ok(());
    }
    let told = format!(
        "answer of type {kind} to an interaction of type {}",
        known.kind
    );
    world.breach(format!("interaction {name:?}: {told}"));
    Err(invalid_form(&[told]))
}

/// Which answers an interaction takes (the same page, Interaction Callback Type).
fn fits(known: &Interaction, kind: u64) -> bool {
    match kind {
        4 | 5 => known.kind != 4,
        6 | 7 => known.kind == 3 || known.kind == 5 && known.source.is_some(),
        8 => known.kind == 4,
        9 => matches!(known.kind, 2 | 3),
        _ => false,
    }
}

fn perform(world: &mut World, call: &Call, known: &Interaction, kind: u64) -> Result<(), Reply> {
    let mut inner = call.clone();
    inner.body = call.body["data"].clone();
    match kind {
        4 => {
            world.judge(call, &check(&inner.body, &inner.files, Stage::New))?;
            answer_with(world, &inner, known);
        }
        5 => {
            inner.body = json!({"flags": inner.body["flags"].as_u64().unwrap_or(0) | LOADING});
            answer_with(world, &inner, known);
            if let Some(kept) = world.interactions.get_mut(&known.id) {
                kept.thinking = true;
            }
        }
        6 => set_original(world, known.id, known.source),
        7 => {
            world.judge(call, &check(&inner.body, &inner.files, Stage::Edit))?;
            set_original(world, known.id, known.source);
            let source = known
                .source
                .filter(|id| world.live(*id).is_some())
                .ok_or_else(|| unknown("Message"))?;
            world.rewrite(&inner, source);
        }
        8 => check_choices(world, call)?,
        _ => world.judge(call, &modal::check(&inner.body))?,
    }
    Ok(())
}

fn set_original(world: &mut World, id: u64, message: Option<u64>) {
    if let Some(kept) = world.interactions.get_mut(&id) {
        kept.original = message;
    }
}

fn answer_with(world: &mut World, inner: &Call, known: &Interaction) {
    let kind = if known.kind == 2 { 20 } else { 0 };
    let id = keep(world, inner, known, kind);
    set_original(world, known.id, Some(id));
}

/// Keeps a message that answers an interaction; it says so.
fn keep(world: &mut World, inner: &Call, known: &Interaction, kind: u64) -> u64 {
    let hidden = inner.body["flags"].as_u64().unwrap_or(0) & EPHEMERAL != 0;
    let post = Post {
        channel: known.channel,
        author: world.bot,
        kind,
        only_for: hidden.then_some(known.user),
    };
    let owner = known.guild.unwrap_or(known.user).to_string();
    let app = world.application.to_string();
    let origin = json!({
        "id": known.id.to_string(), "type": known.kind, "name": known.name, "user": world.user_json(known.user),
        "authorizing_integration_owners": {"0": owner},
    });
    let mut inner = inner.clone();
    merge(
        &mut inner.body,
        &json!({"interaction_metadata": origin, "application_id": app, "webhook_id": app}),
    );
    world.keep(&inner, post)
}

/// At most 25 choices with names up to 100 characters (the same page, Autocomplete).
fn check_choices(world: &mut World, call: &Call) -> Result<(), Reply> {
    let mut found = crate::fake::check::Findings::default();
    let choices = &call.body["data"]["choices"];
    found.must(choices.is_array(), || "autocomplete without choices".into());
    found.count(choices, "choices", 0..=25);
    for choice in list(choices) {
        found.length(&choice["name"], "choice name", 1..=100);
        if choice["value"].is_string() {
            found.length(&choice["value"], "choice value", 1..=100);
        }
    }
    world.judge(call, &found)
}

fn described(world: &World, id: u64, kind: u64) -> Value {
    let known = &world.interactions[&id];
    let message = known
        .original
        .map(|original| world.messages[&original].json.clone());
    json!({
        "interaction": {
            "id": id.to_string(), "type": known.kind, "response_message_id": known.original.map(|one| one.to_string()),
            "response_message_loading": known.thinking, "response_message_ephemeral": message.as_ref().map(hidden),
        },
        "resource": {"type": kind, "message": message},
    })
}

fn hidden(message: &Value) -> bool {
    message["flags"].as_u64().unwrap_or(0) & EPHEMERAL != 0
}

/// Everything under an interaction's webhook.
pub fn webhook(
    world: &mut World,
    call: &Call,
    (app, token): (u64, &str),
    rest: &[&str],
) -> Option<Answer> {
    let known = match alive(world, call, app, token) {
        Ok(known) => known,
        Err(refusal) => return Some(Err(refusal)),
    };
    let target = match rest {
        [] if call.method == "POST" => return Some(follow_up(world, call, &known)),
        ["messages", "@original"] => known.original,
        ["messages", one] => Some(id(one)?),
        _ => return None,
    };
    let own = |id: &u64| known.original == Some(*id) || known.followups.contains(id);
    let Some(target) = target.filter(own).filter(|id| world.live(*id).is_some()) else {
        return Some(Err(unknown("Message")));
    };
    Some(match call.method.as_str() {
        "GET" => Ok(Reply::with(world.messages[&target].json.clone())),
        "PATCH" => change(world, call, &known, target),
        "DELETE" => {
            world.remove_message(target);
            Ok(Reply::nothing())
        }
        _ => return None,
    })
}

/// The interaction of a token that still lives and was answered.
fn alive(world: &mut World, call: &Call, app: u64, token: &str) -> Result<Interaction, Reply> {
    let known = world
        .interactions
        .values()
        .find(|one| one.token == token)
        .cloned();
    let Some(known) = known.filter(|_| app == world.application) else {
        world.breach(format!(
            "{} /webhooks/..: no interaction has this token",
            call.method
        ));
        return Err(unknown("Webhook"));
    };
    let late = known.at.elapsed();
    if late > world.settings.limits.token {
        world.breach(format!(
            "interaction {:?}: its token was used after {late:?}",
            known.name
        ));
        return Err(Reply::error(401, 50_027, "Invalid Webhook Token"));
    }
    if known.answer.is_none() {
        world.breach(format!(
            "interaction {:?}: a follow-up before the answer",
            known.name
        ));
        return Err(unknown("Webhook"));
    }
    Ok(known)
}

fn change(world: &mut World, call: &Call, known: &Interaction, target: u64) -> Answer {
    world.judge(call, &check(&call.body, &call.files, Stage::Edit))?;
    if known.original == Some(target) {
        stop_thinking(world, known.id, target);
    }
    world.rewrite(call, target);
    Ok(Reply::with(world.messages[&target].json.clone()))
}

fn stop_thinking(world: &mut World, id: u64, message: u64) {
    if let Some(kept) = world.interactions.get_mut(&id) {
        kept.thinking = false;
    }
    if let Some(found) = world.messages.get_mut(&message) {
        found.json["flags"] = json!(found.json["flags"].as_u64().unwrap_or(0) & !LOADING);
    }
}

/// Create Followup Message; right after a deferred answer it fills that answer (the page calls it deprecated).
fn follow_up(world: &mut World, call: &Call, known: &Interaction) -> Answer {
    world.judge(call, &check(&call.body, &call.files, Stage::New))?;
    if let Some(original) = known.original.filter(|_| known.thinking) {
        let mut filled = call.clone();
        filled
            .body
            .as_object_mut()
            .map(|fields| fields.remove("flags"));
        return change(world, &filled, known, original);
    }
    let id = keep(world, call, known, 0);
    if let Some(kept) = world.interactions.get_mut(&known.id) {
        kept.followups.push(id);
    }
    Ok(Reply::with(world.messages[&id].json.clone()))
}
