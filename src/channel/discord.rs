//! Discord: a conversation is a thread; the rider who owns it drives it, helpers write beside it.
//!
//! One event's way: the gateway passes it on in order ([`gateway`]), it is read ([`event`]) and put in
//! the line of its channel ([`lanes`], [`bot`]); there it is a message ([`hear`], [`begin`]), a
//! button, menu or form ([`press`], [`form`], [`custom_id`]) or a command ([`command`], [`order`],
//! [`setup`], [`sheet`]). The desk takes the turn; the reply is rendered ([`render`], [`layout`],
//! [`markdown`]) and sent by the thread's own line ([`postman`]), and the thread's title, tags and
//! pinned summary follow ([`errand`]). All calls go through one door ([`rest`], [`pace`]); what was
//! missed is read there as well ([`catch_up`]).
//!
//! Deliberately absent: anything about diagnosis, and the cache that the chat library would keep:
//! whose a thread is stands in the store, everything else is read when it is needed.

pub mod act;
pub mod adopt;
pub mod begin;
pub mod bot;
pub mod catch_up;
pub mod command;
pub mod custom_id;
pub mod errand;
pub mod event;
pub mod form;
pub mod gateway;
pub mod hear;
pub mod lanes;
pub mod layout;
pub mod markdown;
pub mod order;
pub mod pace;
pub mod picture;
pub mod places;
pub mod postman;
pub mod press;
pub mod recent;
pub mod render;
pub mod respond;
pub mod rest;
pub mod rights;
pub mod route;
pub mod setup;
pub mod sheet;
pub mod words;

use super::gauges::Gauges;
use crate::conversation::event::Terms;
use crate::desk::{Desk, Dialogue};
use crate::knowledge::id::SystemId;
use crate::store::problem::StoreError;
use bot::Bot;
use gateway::door::{BETWEEN, Door};
use gateway::session::Shelf;
use gateway::shard::Shard;
use gateway::{Dispatch, GatewayError};
use rest::{Refusal, Rest};
use serenity::model::gateway::GatewayIntents;
use serenity::model::id::GuildId;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::mpsc;
use tokio::task::JoinSet;
use tokio::time::{Instant, sleep, timeout};
use tokio_util::sync::CancellationToken;

/// Events between the gateway and the lines of work; when it is full the gateway waits.
const BETWEEN_ROOMS: usize = 1024;
/// How often time is asked what it asks for: reminders, rest, letting go.
const TEND_EVERY: Duration = Duration::from_secs(3600);
/// How long turns and replies in hand may take when we stop.
const STOP_WITHIN: Duration = Duration::from_secs(20);

/// The first wait before Discord is asked again, and the longest.
const FIRST_WAIT: Duration = Duration::from_secs(1);
const LONGEST_WAIT: Duration = Duration::from_secs(60);
/// Where the gateway is if Discord does not say.
///
/// Source: Discord developer documentation, Gateway, Connecting.
const GATEWAY: &str = "wss://gateway.discord.gg";

/// Where commands are registered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Registration {
    /// Everywhere; Discord may take a while to show them.
    Everywhere,
    /// In these groups, at once.
    In(Vec<GuildId>),
    /// Not at all: they are registered already.
    No,
}

/// The shards this process runs, of all there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shards {
    /// The first.
    pub first: u32,
    /// The last.
    pub last: u32,
    /// How many there are over all processes.
    pub total: u32,
}

/// A bike's sheet, for the groups that approve it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sheet {
    /// What stands in it.
    pub words: String,
    /// The bike's fuel system.
    pub system: SystemId,
}

/// How the channel is set up.
#[derive(Clone)]
pub struct Setting {
    /// The bot's token.
    pub token: String,
    /// Whether plain messages may be read: the privileged intent is granted.
    pub message_content: bool,
    /// Which shards to run.
    pub shards: Shards,
    /// Where commands are registered.
    pub registration: Registration,
    /// Under which terms conversations are opened.
    pub terms: Terms,
    /// Sheets of bikes by id.
    pub sheets: BTreeMap<String, Sheet>,
    /// Where volunteers read, if there is such a page.
    pub review_page: Option<String>,
    /// Where gateway sessions are kept between runs.
    pub sessions: Option<PathBuf>,
    /// The client for calls; one of our own if none is given.
    pub client: Option<reqwest::Client>,
    /// Time between two identifications of shards.
    pub identify_every: Duration,
}

impl Setting {
    /// One shard, plain messages not read, commands everywhere, nothing kept of sessions.
    #[must_use]
    pub fn new(token: &str, terms: Terms) -> Self {
        Self {
            token: token.to_owned(),
            message_content: false,
            shards: Shards {
                first: 0,
                last: 0,
                total: 1,
            },
            registration: Registration::Everywhere,
            terms,
            sheets: BTreeMap::new(),
            review_page: None,
            sessions: None,
            client: None,
            identify_every: BETWEEN,
        }
    }

    /// What we ask to be told of: groups, and messages in them, with their text where we may.
    fn intents(&self) -> u64 {
        let mut intents = GatewayIntents::GUILDS | GatewayIntents::GUILD_MESSAGES;
        if self.message_content {
            intents |= GatewayIntents::MESSAGE_CONTENT;
        }
        intents.bits()
    }
}

/// Why the channel came to an end.
#[derive(Debug, thiserror::Error)]
pub enum DiscordError {
    /// The gateway will not have us.
    #[error(transparent)]
    Gateway(#[from] GatewayError),
    /// The store fails.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The store can keep nothing more.
    #[error("stopped serving, since nothing can be kept any more: {0}")]
    Broken(String),
    /// No client for calls can be built.
    #[error("no encrypted connections can be made: {0}; install the system's root certificates")]
    Client(#[from] reqwest::Error),
    /// Discord refuses us over REST.
    #[error(
        "Discord does not accept the token ({0}); copy it anew from the application's page, Bot, and put it where the configuration says"
    )]
    Token(Refusal),
}

/// Serves groups until told to stop, then finishes what is in hand.
///
/// # Errors
/// See [`DiscordError`]; what had been taken until then is kept.
pub async fn serve<D: Dialogue + 'static>(
    desk: Arc<Desk<D>>,
    setting: Setting,
    gauges: Arc<Gauges>,
    stop: CancellationToken,
) -> Result<(), DiscordError> {
    let rest = Rest::new(&setting.token, setting.client.clone())?;
    let bot = Bot::new(desk, rest, setting, gauges, stop.clone());
    bot.send_unsent().await?;
    let (out, events) = mpsc::channel(BETWEEN_ROOMS);
    let reading = tokio::spawn(route::all(Arc::clone(&bot), events));
    let tending = tokio::spawn(tend(Arc::clone(&bot)));
    let outcome = shards(&bot, out).await;
    // The gateway has stopped, so nothing new comes: then what is in hand, and no more than that.
    stop.cancel();
    tending.abort();
    let finishing = async {
        // The reader ends once it has read what the gateway passed on.
        let _ = reading.await;
        bot.running.close();
        bot.running.wait().await;
    };
    if timeout(STOP_WITHIN, finishing).await.is_err() {
        tracing::warn!("not everything in hand was finished in time; it is sent at the next start");
        bot.cut.cancel();
    }
    match bot.broken() {
        Some(what) => Err(DiscordError::Broken(what)),
        None => outcome,
    }
}

/// Runs the shards of this process until they are told to stop, or one is refused.
async fn shards<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
    out: mpsc::Sender<Dispatch>,
) -> Result<(), DiscordError> {
    let Shards { first, last, total } = bot.setting.shards;
    (first..=last).for_each(|shard| bot.gauges.expect(shard));
    let Some((url, lanes)) = gateway_address(bot).await? else {
        return Ok(());
    };
    let door = Arc::new(Door::new(lanes, bot.setting.identify_every));
    let mut running = JoinSet::new();
    for number in first..=last {
        let shard = Shard {
            shard: [number, total],
            url: url.clone(),
            token: bot.setting.token.clone(),
            intents: bot.setting.intents(),
            door: Arc::clone(&door),
            shelf: Shelf::new(bot.setting.sessions.as_deref(), [number, total]),
            out: out.clone(),
            pulse: Arc::clone(&bot.gauges) as Arc<dyn gateway::Pulse>,
            stop: bot.stop.clone(),
        };
        running.spawn(shard.run());
    }
    drop(out);
    let mut outcome = Ok(());
    while let Some(ended) = running.join_next().await {
        if let Ok(Err(refused)) = ended {
            // One shard that is refused is all of them: they have one token and one set of intents.
            bot.stop.cancel();
            outcome = Err(refused.into());
        }
    }
    outcome
}

/// Where the gateway is and how many shards may identify at once; none if told to stop before that
/// was known.
async fn gateway_address<D: Dialogue + 'static>(
    bot: &Arc<Bot<D>>,
) -> Result<Option<(String, u32)>, DiscordError> {
    let mut wait = FIRST_WAIT;
    loop {
        match bot.rest.gateway().await {
            Ok(answer) => {
                let url = answer["url"].as_str().unwrap_or(GATEWAY).to_owned();
                let lanes = answer["session_start_limit"]["max_concurrency"].as_u64();
                let lanes = lanes.and_then(|lanes| u32::try_from(lanes).ok());
                return Ok(Some((url, lanes.unwrap_or(1))));
            }
            Err(refusal @ (Refusal::Forbidden(_) | Refusal::Wrong(_))) => {
                return Err(DiscordError::Token(refusal));
            }
            Err(refusal) => tracing::warn!(%refusal, "Discord cannot be reached; trying again"),
        }
        tokio::select! {
            () = sleep(wait) => wait = (wait * 2).min(LONGEST_WAIT),
            () = bot.stop.cancelled() => return Ok(None),
        }
    }
}

/// Does what time asks for.
async fn tend<D: Dialogue + 'static>(bot: Arc<Bot<D>>) {
    loop {
        sleep(TEND_EVERY).await;
        match bot.desk.tend().await {
            Ok(tended) => {
                for outgoing in tended.outgoing {
                    bot.send(outgoing, Instant::now());
                }
            }
            Err(error) => tracing::error!(%error, "reminders and retention could not be seen to"),
        }
    }
}
