//! What the gateway does with a client's frames, and which of them break its rules.

use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::{Order, Session, What};
use crate::fake::settings::PRIVILEGED;
use crate::fake::world::World;

/// Largest payload a client may send (Discord developer documentation, Gateway, Sending Events).
const LARGEST: usize = 4096;
/// Every intent that exists (Discord developer documentation, Gateway, List of Intents).
const INTENTS: u64 = 0x1_ffff | 1 << 20 | 1 << 21 | 1 << 24 | 1 << 25;

impl World {
    /// The query must ask for version 10 in JSON.
    pub fn check_gateway_query(&mut self, query: &str) {
        let has = |wanted: &str| query.split('&').any(|pair| pair == wanted);
        if !has("v=10") || !has("encoding=json") {
            self.breach(format!(
                "gateway: connected with {query:?} instead of v=10 and encoding=json"
            ));
        }
        if query.contains("compress=") {
            self.breach("gateway: asked for a compressed transport, which the fake does not speak");
        }
    }

    /// Handles one frame; tells whether it was a heartbeat.
    pub fn gateway_frame(&mut self, link: u64, text: &str) -> bool {
        self.count_frame(link, text.len());
        let Ok(frame) = serde_json::from_str::<Value>(text) else {
            self.breach(format!("gateway: a frame that is not JSON: {text:?}"));
            self.gateway.order(link, Order::Close(Some(4002)));
            return false;
        };
        match frame["op"].as_u64() {
            Some(1) => self.heartbeat(link, &frame["d"]),
            Some(2) => self.identify(link, &frame["d"]),
            Some(6) => self.resume(link, &frame["d"]),
            Some(3 | 4 | 8 | 31) => {}
            other => {
                self.breach(format!("gateway: opcode {other:?} is not for clients"));
                self.gateway.order(link, Order::Close(Some(4001)));
            }
        }
        frame["op"] == 1
    }

    /// 120 frames in 60 seconds, none above 4096 bytes.
    fn count_frame(&mut self, link: u64, bytes: usize) {
        if bytes > LARGEST {
            self.breach(format!(
                "gateway: a payload of {bytes} bytes, {LARGEST} allowed"
            ));
        }
        let ceiling = self.settings.limits.gateway_sends;
        let Some(found) = self.gateway.links.get_mut(&link) else {
            return;
        };
        found
            .frames
            .retain(|at| at.elapsed() < Duration::from_secs(60));
        found.frames.push(Instant::now());
        let count = found.frames.len();
        if count > ceiling {
            self.breach(format!(
                "gateway: {count} frames within a minute, {ceiling} allowed"
            ));
            self.gateway.order(link, Order::Close(Some(4008)));
        }
    }

    fn heartbeat(&mut self, link: u64, seen: &Value) {
        let shard = self.gateway.shard_of(link);
        self.gateway.note(What::Heartbeat, shard);
        let session = self
            .gateway
            .links
            .get(&link)
            .and_then(|found| found.session.clone());
        let sent = session
            .and_then(|id| self.gateway.sessions.get(&id))
            .map_or(0, |found| found.log.len() as u64);
        if seen.as_u64().is_some_and(|seen| seen > sent) || !(seen.is_null() || seen.is_u64()) {
            self.breach(format!(
                "gateway: heartbeat tells sequence {seen}, {sent} were sent"
            ));
        }
        if !self.gateway.mute {
            self.gateway.order(
                link,
                Order::Text(json!({"op": 11, "s": null, "t": null, "d": null}).to_string()),
            );
        }
    }

    /// A heartbeat did not come in time.
    pub fn heartbeat_missed(&mut self, link: u64) {
        let shard = self.gateway.shard_of(link);
        self.breach(format!("gateway: no heartbeat in time on shard {shard:?}"));
    }

    fn identify(&mut self, link: u64, wish: &Value) {
        if let Some(code) = self.refusal(link, wish) {
            self.gateway.order(link, Order::Close(Some(code)));
            return;
        }
        let shard = shard_of(wish);
        if !self.identify_in_time(shard.0) {
            self.gateway.order(
                link,
                Order::Text(json!({"op": 9, "s": null, "t": null, "d": false}).to_string()),
            );
            return;
        }
        self.gateway.note(What::Identified, Some(shard.0));
        if self.gateway.silent {
            return;
        }
        let session = format!("{:016x}", self.next_id());
        let intents = wish["intents"].as_u64().unwrap_or(0);
        self.gateway.sessions.insert(
            session.clone(),
            Session {
                shard,
                intents,
                log: Vec::new(),
                link: Some(link),
            },
        );
        if let Some(found) = self.gateway.links.get_mut(&link) {
            found.session = Some(session.clone());
        }
        self.greet(&session, shard);
    }

    /// The close code for an IDENTIFY that is not good (Discord developer documentation, Opcodes and
    /// Status Codes, Gateway Close Event Codes).
    fn refusal(&mut self, link: u64, wish: &Value) -> Option<u16> {
        if let Some(code) = self.gateway.refuse_identify.take() {
            return Some(code);
        }
        if self
            .gateway
            .links
            .get(&link)
            .is_some_and(|found| found.session.is_some())
        {
            self.breach("gateway: IDENTIFY twice on one connection");
            return Some(4005);
        }
        for field in ["token", "intents", "properties"] {
            if wish[field].is_null() {
                self.breach(format!("gateway: IDENTIFY without {field}"));
            }
        }
        let (shard, shards) = shard_of(wish);
        let intents = wish["intents"].as_u64();
        match intents {
            _ if !self.token_fits(&wish["token"]) => Some(4004),
            _ if shards == 0 || shard >= shards => Some(4010),
            None => Some(4013),
            Some(bits) if bits & !INTENTS != 0 => Some(4013),
            Some(bits) if bits & PRIVILEGED & !self.settings.privileged != 0 => Some(4014),
            Some(_) => None,
        }
    }

    fn token_fits(&self, told: &Value) -> bool {
        told.as_str()
            .is_some_and(|token| token.trim_start_matches("Bot ") == self.token)
    }

    /// One IDENTIFY in five seconds for each concurrency bucket (Discord developer documentation, Gateway,
    /// Sharding, Max Concurrency).
    fn identify_in_time(&mut self, shard: u64) -> bool {
        let bucket = shard % self.settings.max_concurrency.max(1);
        let window = self.settings.limits.identify_window;
        let before = self.gateway.identify_times.insert(bucket, Instant::now());
        let Some(gap) = before.map(|at| at.elapsed()).filter(|gap| *gap < window) else {
            return true;
        };
        self.breach(format!("gateway: shard {shard} sent IDENTIFY {gap:?} after the last of its bucket, {window:?} asked for"));
        false
    }

    /// READY, then every guild of the shard.
    fn greet(&mut self, session: &str, shard: (u64, u64)) {
        let here = |guild: &u64| (guild >> 22) % shard.1 == shard.0;
        let guilds: Vec<u64> = self
            .guilds
            .values()
            .filter(|guild| guild.joined)
            .map(|guild| guild.id)
            .filter(here)
            .collect();
        let absent: Vec<_> = guilds
            .iter()
            .map(|id| json!({"id": id.to_string(), "unavailable": true}))
            .collect();
        let ready = json!({
            "v": 10, "user": self.user_json(self.bot), "guilds": absent, "session_id": session,
            "resume_gateway_url": self.gateway.resume_address, "shard": [shard.0, shard.1],
            "application": {"id": self.application.to_string(), "flags": 1 << 19}, "session_type": "normal",
            "private_channels": [], "relationships": [], "user_settings": {}, "presences": [], "_trace": [],
        });
        self.gateway.push(session, "READY", &ready);
        for guild in guilds {
            let whole = self.guild_create(guild);
            if self
                .gateway
                .sessions
                .get(session)
                .is_some_and(|found| found.intents & 1 != 0)
            {
                self.gateway.push(session, "GUILD_CREATE", &whole);
            }
        }
    }

    fn resume(&mut self, link: u64, wish: &Value) {
        let id = wish["session_id"].as_str().unwrap_or_default().to_owned();
        let seen = usize::try_from(wish["seq"].as_u64().unwrap_or(0)).unwrap_or(usize::MAX);
        if !self.token_fits(&wish["token"]) {
            return self.gateway.order(link, Order::Close(Some(4004)));
        }
        let Some(session) = self.gateway.sessions.get_mut(&id) else {
            self.gateway.note(What::NotResumed, None);
            return self.gateway.order(
                link,
                Order::Text(json!({"op": 9, "s": null, "t": null, "d": false}).to_string()),
            );
        };
        if seen > session.log.len() {
            self.breach(format!(
                "gateway: RESUME tells sequence {seen}, which was never sent"
            ));
            return self.gateway.order(link, Order::Close(Some(4007)));
        }
        let before = session.link.replace(link);
        let (missed, shard) = (session.log[seen..].to_vec(), session.shard.0);
        if let Some(before) = before {
            self.gateway.order(before, Order::Close(Some(4000)));
        }
        let resume_door = self.gateway.links.get_mut(&link).is_some_and(|found| {
            found.session = Some(id.clone());
            found.resume_door
        });
        self.gateway.note(What::Resumed(resume_door), Some(shard));
        for text in missed {
            self.gateway.order(link, Order::Text(text));
        }
        self.gateway.push(&id, "RESUMED", &json!({"_trace": []}));
    }

    /// The client said goodbye; 1000 and 1001 end its session (Discord developer documentation, Gateway,
    /// Disconnecting).
    pub fn closed_by_client(&mut self, link: u64, code: Option<u16>) {
        let shard = self.gateway.shard_of(link);
        let session = self
            .gateway
            .links
            .get(&link)
            .and_then(|found| found.session.clone());
        self.gateway.note(What::ClosedByClient(code), shard);
        if let (Some(1000 | 1001), Some(session)) = (code, session) {
            let mine = self
                .gateway
                .sessions
                .get(&session)
                .is_some_and(|found| found.link == Some(link));
            if mine {
                self.gateway.sessions.remove(&session);
            }
        }
    }

    /// A connection is gone; its session stays for a RESUME.
    pub fn connection_ended(&mut self, link: u64) {
        let shard = self.gateway.shard_of(link);
        self.gateway.note(What::Ended, shard);
        if let Some(found) = self.gateway.links.get_mut(&link) {
            found.open = false;
        }
        for session in self
            .gateway
            .sessions
            .values_mut()
            .filter(|session| session.link == Some(link))
        {
            session.link = None;
        }
    }
}

fn shard_of(wish: &Value) -> (u64, u64) {
    match wish["shard"].as_array().map(Vec::as_slice) {
        Some([shard, shards]) => (shard.as_u64().unwrap_or(0), shards.as_u64().unwrap_or(1)),
        _ => (0, 1),
    }
}
