//! What a test does to the gateway: drop it, mute it, hold events back, send strange ones.

use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::{Dispatch, Order, What};
use crate::fake::Fake;
use crate::fake::world::World;

impl Fake {
    /// Asks clients to reconnect and resume (opcode 7).
    #[track_caller]
    pub fn ask_to_reconnect(&self) {
        self.order_all(|| {
            Order::Text(json!({"op": 7, "s": null, "t": null, "d": null}).to_string())
        });
    }

    /// Declares sessions invalid (opcode 9); those that are not resumable are forgotten.
    #[track_caller]
    pub fn invalidate_session(&self, resumable: bool) {
        let text = json!({"op": 9, "s": null, "t": null, "d": resumable}).to_string();
        self.order_all(|| Order::Text(text.clone()));
        if !resumable {
            self.lose_sessions();
        }
    }

    /// Closes every connection, with a code or with an empty close frame.
    #[track_caller]
    pub fn close_gateway(&self, code: Option<u16>) {
        self.order_all(|| Order::Close(code));
    }

    /// Ends every connection with a TCP reset.
    #[track_caller]
    pub fn reset_gateway(&self) {
        self.order_all(|| Order::Reset);
    }

    /// Closes the connection of one shard.
    #[track_caller]
    pub fn close_shard(&self, shard: u64, code: Option<u16>) {
        self.order_some(Some(shard), || Order::Close(code));
    }

    /// Heartbeats get no acknowledgement, or get them again.
    #[track_caller]
    pub fn acknowledge(&self, answers: bool) {
        self.shared.with(|world| world.gateway.mute = !answers);
    }

    /// Connections are reset on arrival, or taken again.
    #[track_caller]
    pub fn refuse_connections(&self, refusing: bool) {
        self.shared.with(|world| world.gateway.refusing = refusing);
    }

    /// IDENTIFY gets no READY, or gets it again.
    #[track_caller]
    pub fn withhold_ready(&self, silent: bool) {
        self.shared.with(|world| world.gateway.silent = silent);
    }

    /// The next IDENTIFY is closed with this code.
    #[track_caller]
    pub fn refuse_identify(&self, code: u16) {
        self.shared
            .with(|world| world.gateway.refuse_identify = Some(code));
    }

    /// Forgets every session, so that RESUME gets opcode 9; events until then are gone.
    #[track_caller]
    pub fn lose_sessions(&self) {
        self.shared.with(|world| world.gateway.sessions.clear());
    }

    /// Asks every client for a heartbeat at once (opcode 1).
    #[track_caller]
    pub fn ask_heartbeat(&self) {
        self.order_all(|| {
            Order::Text(json!({"op": 1, "s": null, "t": null, "d": null}).to_string())
        });
    }

    /// Holds events back from now on.
    #[track_caller]
    pub fn hold_events(&self) {
        self.shared
            .with(|world| world.gateway.held = Some(Vec::new()));
    }

    /// Sends what was held back, after the test put it in another order or changed it.
    #[track_caller]
    pub fn release_events(&self, arrange: impl FnOnce(&mut Vec<Dispatch>)) {
        self.shared.with(|world| {
            let mut held = world.gateway.held.take().unwrap_or_default();
            arrange(&mut held);
            for dispatch in held {
                world.deliver(&dispatch);
            }
        });
    }

    /// Sends the last event of a name again, as after a reconnect.
    #[track_caller]
    pub fn repeat_event(&self, name: &str) {
        let found = self.shared.with(|world| {
            let last = world.gateway.last.get(name).cloned();
            last.map(|dispatch| world.deliver(&dispatch))
        });
        assert!(found.is_some(), "no {name} was ever sent");
    }

    /// Sends any event, known to Discord or not, well formed or not.
    #[track_caller]
    pub fn emit(&self, name: &str, guild: Option<u64>, data: Value) {
        self.shared.with(|world| world.emit(name, guild, data));
    }

    /// Sends a text as it is on every connection.
    #[track_caller]
    pub fn send_raw(&self, text: &str) {
        self.order_all(|| Order::Text(text.to_owned()));
    }

    /// Times of what happened on the gateway, of one shard or of all.
    #[track_caller]
    pub fn gateway_times(&self, shard: Option<u64>, what: What) -> Vec<Instant> {
        self.shared
            .read(|world| world.gateway.times(shard, |one| one == what))
    }

    /// How many RESUME were accepted, and how many of them came to the resume address.
    #[track_caller]
    pub fn resumes(&self) -> (usize, usize) {
        self.shared.read(|world| {
            let all = world
                .gateway
                .times(None, |what| matches!(what, What::Resumed(_)))
                .len();
            (
                all,
                world
                    .gateway
                    .times(None, |what| what == What::Resumed(true))
                    .len(),
            )
        })
    }

    /// How many IDENTIFY were accepted.
    #[track_caller]
    pub fn identifies(&self) -> usize {
        self.gateway_times(None, What::Identified).len()
    }

    /// Waits until so many sessions have a connection.
    #[track_caller]
    pub fn wait_for_shards(&self, count: usize) -> impl Future<Output = ()> + '_ {
        self.wait_until("sessions with a connection", move |world| {
            world.connected() == count
        })
    }

    /// Changes the heartbeat interval of connections to come.
    #[track_caller]
    pub fn heartbeat_interval(&self, interval: Duration) {
        self.shared
            .with(|world| world.settings.heartbeat = interval);
    }

    fn order_all(&self, order: impl Fn() -> Order) {
        self.order_some(None, order);
    }

    fn order_some(&self, shard: Option<u64>, order: impl Fn() -> Order) {
        self.shared.with(|world| {
            let gateway = &world.gateway;
            let open = gateway
                .links
                .iter()
                .filter(|(_, link)| link.open)
                .map(|(number, _)| *number);
            let wanted =
                open.filter(|number| shard.is_none() || gateway.shard_of(*number) == shard);
            wanted.for_each(|number| gateway.order(number, order()));
        });
    }
}

impl World {
    /// Sessions that have a connection.
    #[track_caller]
    pub fn connected(&self) -> usize {
        self.gateway
            .sessions
            .values()
            .filter(|session| session.link.is_some())
            .count()
    }
}
