//! The gateway's state: sessions that remember what they sent, connections, and what happened to them.

pub mod control;
pub mod receive;
pub mod serve;

use std::collections::BTreeMap;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use tokio::sync::mpsc::UnboundedSender;

use super::permission::VIEW_CHANNEL;
use super::settings::MESSAGE_CONTENT;
use super::world::{World, number};

/// What a connection is told to do.
#[derive(Debug)]
pub enum Order {
    /// Send this text.
    Text(String),
    /// Send a close frame, with or without a code, and end.
    Close(Option<u16>),
    /// End with a TCP reset.
    Reset,
}

/// One open connection.
pub struct Link {
    /// How to reach its task.
    pub orders: UnboundedSender<Order>,
    /// Session it speaks for, once it said so.
    pub session: Option<String>,
    /// Whether it came to the resume address.
    pub resume_door: bool,
    /// Times of frames received within the last minute.
    pub frames: Vec<Instant>,
    /// Whether it is still open.
    pub open: bool,
}

/// One session, alive with or without a connection.
pub struct Session {
    /// `[shard, shards]`.
    pub shard: (u64, u64),
    /// What it asked for.
    pub intents: u64,
    /// Everything sent, by sequence number from 1.
    pub log: Vec<String>,
    /// Connection that speaks for it.
    pub link: Option<u64>,
}

/// An event on its way.
#[derive(Clone, Debug)]
pub struct Dispatch {
    /// Its name.
    pub name: String,
    /// Guild whose shard gets it; none is shard 0.
    pub guild: Option<u64>,
    /// Its data.
    pub data: Value,
}

/// Something that happened on the gateway.
#[derive(Clone, Debug)]
pub struct Happening {
    /// What.
    pub what: What,
    /// Shard, where it is known.
    pub shard: Option<u64>,
    /// When.
    pub at: Instant,
}

/// The kinds of happenings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A connection was opened.
    Connected,
    /// A connection was turned away.
    Refused,
    /// IDENTIFY that was accepted.
    Identified,
    /// RESUME that was accepted; whether it came to the resume address.
    Resumed(bool),
    /// RESUME that was not.
    NotResumed,
    /// A heartbeat.
    Heartbeat,
    /// The client closed, with this code.
    ClosedByClient(Option<u16>),
    /// The fake closed, with this code.
    ClosedByFake(Option<u16>),
    /// A connection ended.
    Ended,
}

/// The gateway's half of the world.
#[derive(Default)]
pub struct Gateway {
    /// Where IDENTIFY goes.
    pub address: String,
    /// Where RESUME should go.
    pub resume_address: String,
    /// Sessions by id.
    pub sessions: BTreeMap<String, Session>,
    /// Connections by number.
    pub links: BTreeMap<u64, Link>,
    /// What happened.
    pub happenings: Vec<Happening>,
    /// Whether heartbeats go without acknowledgement.
    pub mute: bool,
    /// Whether connections are turned away.
    pub refusing: bool,
    /// Whether IDENTIFY is answered with silence.
    pub silent: bool,
    /// Events held back, when holding.
    pub held: Option<Vec<Dispatch>>,
    /// The last event sent, by name.
    pub last: BTreeMap<String, Dispatch>,
    /// Times of IDENTIFY by concurrency bucket.
    pub identify_times: BTreeMap<u64, Instant>,
    /// Closes the next IDENTIFY with this code.
    pub refuse_identify: Option<u16>,
}

impl Gateway {
    /// Notes something that happened.
    pub fn note(&mut self, what: What, shard: Option<u64>) {
        self.happenings.push(Happening {
            what,
            shard,
            at: Instant::now(),
        });
    }

    /// Tells a connection to do something; one that has ended does nothing.
    pub fn order(&self, link: u64, order: Order) {
        if let Some(found) = self.links.get(&link) {
            let _ = found.orders.send(order);
        }
    }

    /// Shard of the session a connection speaks for.
    pub fn shard_of(&self, link: u64) -> Option<u64> {
        let session = self.links.get(&link)?.session.as_ref()?;
        Some(self.sessions.get(session)?.shard.0)
    }

    /// Sends an event in a session and remembers it.
    pub fn push(&mut self, session: &str, name: &str, data: &Value) {
        let Some(found) = self.sessions.get_mut(session) else {
            return;
        };
        let seq = found.log.len() + 1;
        let text = json!({"op": 0, "s": seq, "t": name, "d": data}).to_string();
        found.log.push(text.clone());
        if let Some(link) = found.link {
            self.order(link, Order::Text(text));
        }
    }

    /// Times of what fits, oldest first.
    pub fn times(&self, shard: Option<u64>, wanted: impl Fn(What) -> bool) -> Vec<Instant> {
        let fits = |one: &&Happening| wanted(one.what) && (shard.is_none() || one.shard == shard);
        self.happenings
            .iter()
            .filter(fits)
            .map(|one| one.at)
            .collect()
    }
}

impl World {
    /// Sends an event to the sessions whose shard and intents fit, or holds it back.
    pub fn emit(&mut self, name: &str, guild: Option<u64>, data: Value) {
        let dispatch = Dispatch {
            name: name.to_owned(),
            guild,
            data,
        };
        self.gateway.last.insert(name.to_owned(), dispatch.clone());
        match &mut self.gateway.held {
            Some(held) => held.push(dispatch),
            None => self.deliver(&dispatch),
        }
    }

    /// Sends an event now.
    pub fn deliver(&mut self, dispatch: &Dispatch) {
        if !self.visible(dispatch) {
            return;
        }
        let fits = |(id, session): (&String, &Session)| {
            let home = dispatch
                .guild
                .map_or(0, |guild| (guild >> 22) % session.shard.1);
            let wanted = intent_of(&dispatch.name, dispatch.guild.is_some());
            let asked = wanted == 0 || session.intents & wanted != 0;
            (home == session.shard.0 && asked).then(|| (id.clone(), session.intents))
        };
        let sessions: Vec<_> = self.gateway.sessions.iter().filter_map(fits).collect();
        for (session, intents) in sessions {
            let mut data = dispatch.data.clone();
            let message = matches!(dispatch.name.as_str(), "MESSAGE_CREATE" | "MESSAGE_UPDATE");
            let whole = message && data["author"].is_object();
            if whole && intents & MESSAGE_CONTENT == 0 {
                self.censor(&mut data);
            }
            self.gateway.push(&session, &dispatch.name, &data);
        }
    }

    /// A bot hears nothing from a channel it may not see.
    fn visible(&self, dispatch: &Dispatch) -> bool {
        let place = match dispatch.name.as_str() {
            name if name.starts_with("MESSAGE_") => &dispatch.data["channel_id"],
            name if name.starts_with("THREAD_") || name.starts_with("CHANNEL_") => {
                &dispatch.data["id"]
            }
            _ => return true,
        };
        let known = number(place).filter(|id| self.channels.contains_key(id));
        known.is_none_or(|id| self.bot_may(id, VIEW_CHANNEL))
    }
}

/// The intent an event needs (Discord developer documentation, Gateway, List of Intents).
fn intent_of(name: &str, in_guild: bool) -> u64 {
    let guild_else_direct = |guild: u64, direct: u64| if in_guild { guild } else { direct };
    match name {
        "GUILD_MEMBER_ADD" | "GUILD_MEMBER_UPDATE" | "GUILD_MEMBER_REMOVE" => 1 << 1,
        "TYPING_START" => guild_else_direct(1 << 11, 1 << 14),
        "CHANNEL_PINS_UPDATE" => guild_else_direct(1, 1 << 12),
        _ if name.starts_with("MESSAGE_REACTION") => guild_else_direct(1 << 10, 1 << 13),
        _ if name.starts_with("MESSAGE_") => guild_else_direct(1 << 9, 1 << 12),
        _ if name.starts_with("GUILD_")
            || name.starts_with("CHANNEL_")
            || name.starts_with("THREAD_") =>
        {
            1
        }
        _ => 0,
    }
}

/// How long a client may take for a heartbeat: its interval, and a margin for a busy machine.
pub fn patience(interval: Duration) -> Duration {
    interval + interval / 2 + Duration::from_millis(500)
}
