//! Answers to interactions: in time, and seen by whoever acted alone unless they change a message.

use super::bot::Bot;
use super::event::Interaction;
use super::markdown::short;
use super::render;
use crate::desk::Dialogue;
use serde_json::{Value, json};

/// Seen by whoever acted alone.
///
/// Source of the numbers here: Discord developer documentation, Receiving and Responding.
const EPHEMERAL: u64 = 64;
/// A message.
const MESSAGE: u8 = 4;
/// A message that comes later.
const MESSAGE_LATER: u8 = 5;
/// A change to the message that comes later.
const CHANGE_LATER: u8 = 6;
/// A change to the message.
const CHANGE: u8 = 7;
/// A form.
const FORM: u8 = 9;

/// Says something to whoever acted.
pub async fn say<D: Dialogue + 'static>(bot: &Bot<D>, act: &Interaction, text: &str) {
    let data = message(text);
    respond(bot, act, &json!({"type": MESSAGE, "data": data})).await;
}

/// Promises to say something; to be followed by [`amend`].
pub async fn promise<D: Dialogue + 'static>(bot: &Bot<D>, act: &Interaction) {
    let body = json!({"type": MESSAGE_LATER, "data": {"flags": EPHEMERAL}});
    respond(bot, act, &body).await;
}

/// Says what was promised.
pub async fn amend<D: Dialogue + 'static>(bot: &Bot<D>, act: &Interaction, text: &str) {
    let mut body = message(text);
    if let Some(fields) = body.as_object_mut() {
        fields.remove("flags");
    }
    if let Err(refusal) = bot.rest.amend(act.application_id, &act.token, &body).await {
        tracing::info!(%refusal, "an answer to an interaction cannot be sent");
    }
}

/// Takes note of a press without changing anything yet.
pub async fn note<D: Dialogue + 'static>(bot: &Bot<D>, act: &Interaction) {
    respond(bot, act, &json!({"type": CHANGE_LATER})).await;
}

/// Changes the message that the button stands under, and takes its buttons away.
pub async fn settle<D: Dialogue + 'static>(bot: &Bot<D>, act: &Interaction, text: &str) {
    respond(bot, act, &json!({"type": CHANGE, "data": settled(text)})).await;
}

/// A message without buttons.
#[must_use]
pub fn settled(text: &str) -> Value {
    json!({
        "content": text,
        "components": [],
        "allowed_mentions": render::mentions(None),
    })
}

/// Opens a form.
pub async fn open_form<D: Dialogue + 'static>(bot: &Bot<D>, act: &Interaction, form: &Value) {
    respond(bot, act, &json!({"type": FORM, "data": form})).await;
}

async fn respond<D: Dialogue + 'static>(bot: &Bot<D>, act: &Interaction, body: &Value) {
    // An interaction that came twice was answered already; one that came late can no longer be.
    if let Err(refusal) = bot.rest.respond(act.id, &act.token, body).await {
        tracing::info!(%refusal, "an interaction cannot be answered");
    }
}

fn message(text: &str) -> Value {
    json!({
        "content": short(text, super::markdown::LONGEST),
        "flags": EPHEMERAL,
        "allowed_mentions": render::mentions(None),
    })
}
