//! One shard: connect, keep the heart beating, pass events on in order, come back after every fall.

use super::close::{After, Refusal, after};
use super::door::Door;
use super::frame::{self, Frame};
use super::link::{Came, Link};
use super::session::{Session, Shelf};
use super::{Dispatch, GatewayError, Gauge, Pulse};
use serde_json::Value;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::mpsc;
use tokio::time::{Instant, Interval, MissedTickBehavior, interval_at, sleep, timeout};
use tokio_tungstenite::tungstenite::Error;
use tokio_util::sync::CancellationToken;

/// The longest wait before connecting again.
const LONGEST_WAIT: Duration = Duration::from_secs(60);
/// The first wait; each failure after it waits twice as long.
const FIRST_WAIT: Duration = Duration::from_millis(250);
/// How long the first payload may take.
const HELLO_WITHIN: Duration = Duration::from_secs(20);

/// What a shard needs to be one.
pub struct Shard {
    /// Its number, and how many there are.
    pub shard: [u32; 2],
    /// Where to connect when there is no session.
    pub url: String,
    /// The bot's token.
    pub token: String,
    /// What to be told of.
    pub intents: u64,
    /// One at a time through here to identify.
    pub door: Arc<Door>,
    /// Where the session is kept between runs.
    pub shelf: Shelf,
    /// Where events go.
    pub out: mpsc::Sender<Dispatch>,
    /// How it is doing.
    pub pulse: Arc<dyn Pulse>,
    /// When to stop.
    pub stop: CancellationToken,
}

/// Why a connection ended.
enum End {
    Stopped,
    /// Whether it had been ready.
    Lost {
        ready: bool,
    },
    Anew,
    Refused(Refusal),
}

impl From<After> for End {
    fn from(after: After) -> Self {
        match after {
            After::Resume => Self::Lost { ready: true },
            After::Anew => Self::Anew,
            After::GiveUp(refusal) => Self::Refused(refusal),
        }
    }
}

/// One connection, as far as it has come.
struct Life {
    link: Link,
    beat: Interval,
    acknowledged: bool,
    ready: bool,
}

impl Shard {
    /// Runs until told to stop; every way a connection can end leads back to the top after a wait,
    /// so that nothing spins.
    ///
    /// # Errors
    /// When Discord will not have us and connecting again cannot help.
    pub async fn run(self) -> Result<(), GatewayError> {
        let mut session = self.shelf.take();
        let mut wait = Duration::ZERO;
        loop {
            if self.pause(wait).await {
                break;
            }
            let end = self.connection(&mut session).await;
            self.pulse.note(self.shard[0], Gauge::Down);
            wait = match end {
                End::Stopped => break,
                End::Refused(refusal) => return Err(GatewayError::Refused(refusal)),
                End::Lost { ready: true } => FIRST_WAIT,
                End::Lost { ready: false } => longer(wait),
                End::Anew => {
                    session = None;
                    longer(wait)
                }
            };
            self.keep(session.as_ref());
        }
        self.keep(session.as_ref());
        Ok(())
    }

    /// Waits; true if told to stop.
    async fn pause(&self, wait: Duration) -> bool {
        tokio::select! {
            biased;
            () = self.stop.cancelled() => true,
            () = sleep(wait) => false,
        }
    }

    fn keep(&self, session: Option<&Session>) {
        if let Err(error) = self.shelf.keep(session) {
            tracing::warn!(%error, "the gateway session cannot be kept: after a restart what was missed is read over REST");
        }
    }

    async fn connection(&self, session: &mut Option<Session>) -> End {
        let url = session.as_ref().map_or(&self.url, |kept| &kept.resume_url);
        let mut life = match self.begin(url).await {
            Ok(life) => life,
            Err(error) => {
                tracing::warn!(shard = self.shard[0], %error, "the gateway cannot be reached");
                return End::Lost { ready: false };
            }
        };
        let end = match self.greet(&mut life, session.as_ref()).await {
            Ok(true) => self.live(&mut life, session).await,
            Ok(false) => Ok(End::Stopped),
            Err(error) => Err(error),
        };
        let end = end.unwrap_or_else(|error| {
            tracing::warn!(shard = self.shard[0], %error, "the gateway connection broke");
            End::Lost { ready: life.ready }
        });
        life.link.close().await;
        end
    }

    /// Connects and waits for the first payload.
    async fn begin(&self, url: &str) -> Result<Life, Error> {
        let mut link = Link::open(url).await?;
        let hello = async {
            loop {
                match link.next().await? {
                    Came::Frame(Frame::Hello { heartbeat_interval }) => {
                        return Ok(heartbeat_interval);
                    }
                    Came::Frame(_) => {}
                    Came::Closed(_) => return Err(Error::ConnectionClosed),
                }
            }
        };
        let milliseconds = timeout(HELLO_WITHIN, hello)
            .await
            .map_err(|_| Error::Io(std::io::ErrorKind::TimedOut.into()))??;
        let every = Duration::from_millis(milliseconds.max(1));
        // The first beat comes at a random share of the interval, so that many do not beat at once.
        let first = Instant::now() + every.mul_f64(fastrand::f64());
        let mut beat = interval_at(first, every);
        beat.set_missed_tick_behavior(MissedTickBehavior::Delay);
        Ok(Life {
            link,
            beat,
            acknowledged: true,
            ready: false,
        })
    }

    /// Resumes or identifies; false if told to stop while waiting for a turn at the door.
    async fn greet(&self, life: &mut Life, session: Option<&Session>) -> Result<bool, Error> {
        let payload = if let Some(session) = session {
            frame::resume(&self.token, session)
        } else {
            tokio::select! {
                () = self.stop.cancelled() => return Ok(false),
                () = self.door.pass(self.shard[0]) => {}
            }
            frame::identify(&self.token, self.intents, self.shard)
        };
        life.link.send(&payload).await?;
        Ok(true)
    }

    async fn live(&self, life: &mut Life, session: &mut Option<Session>) -> Result<End, Error> {
        loop {
            tokio::select! {
                biased;
                () = self.stop.cancelled() => return Ok(End::Stopped),
                _ = life.beat.tick() => {
                    if !life.acknowledged {
                        tracing::warn!(shard = self.shard[0], "the gateway no longer answers heartbeats");
                        return Ok(End::Lost { ready: life.ready });
                    }
                    self.keep(session.as_ref());
                    self.beat(life, session.as_ref()).await?;
                }
                came = life.link.next() => {
                    if let Some(end) = self.came(life, session, came?).await? {
                        return Ok(end);
                    }
                }
            }
        }
    }

    async fn beat(&self, life: &mut Life, session: Option<&Session>) -> Result<(), Error> {
        life.acknowledged = false;
        let seq = session.map(|session| session.seq);
        life.link.send(&frame::heartbeat(seq)).await
    }

    /// Takes one payload; what ends the connection, if it does.
    async fn came(
        &self,
        life: &mut Life,
        session: &mut Option<Session>,
        came: Came,
    ) -> Result<Option<End>, Error> {
        let frame = match came {
            Came::Closed(code) => {
                tracing::info!(
                    shard = self.shard[0],
                    ?code,
                    "the gateway closed the connection"
                );
                return Ok(Some(match End::from(after(code)) {
                    End::Lost { .. } => End::Lost { ready: life.ready },
                    other => other,
                }));
            }
            Came::Frame(frame) => frame,
        };
        match frame {
            Frame::Acknowledged => life.acknowledged = true,
            Frame::Heartbeat => self.beat(life, session.as_ref()).await?,
            Frame::Reconnect => return Ok(Some(End::Lost { ready: true })),
            Frame::InvalidSession { resumable: true } => {
                return Ok(Some(End::Lost { ready: false }));
            }
            Frame::InvalidSession { resumable: false } => return Ok(Some(End::Anew)),
            Frame::Dispatch { seq, name, data } => self.pass(life, session, seq, name, data).await,
            Frame::Hello { .. } => {}
            Frame::Unknown => self.pulse.note(self.shard[0], Gauge::Unreadable),
        }
        Ok(None)
    }

    /// Passes an event on; only then it counts as seen.
    async fn pass(
        &self,
        life: &mut Life,
        session: &mut Option<Session>,
        seq: u64,
        name: String,
        data: Value,
    ) {
        if name == "READY" {
            *session = opened(&data, seq, &self.url);
        }
        if name == "READY" || name == "RESUMED" {
            life.ready = true;
            self.pulse.note(self.shard[0], Gauge::Up);
        }
        let dispatch = Dispatch {
            shard: self.shard[0],
            name,
            data,
        };
        // The receiver is gone only when everything ends.
        let _ = self.out.send(dispatch).await;
        if let Some(session) = session {
            session.seq = seq;
        }
    }
}

/// The session that READY tells of.
fn opened(ready: &Value, seq: u64, url: &str) -> Option<Session> {
    Some(Session {
        id: ready["session_id"].as_str()?.to_owned(),
        seq,
        resume_url: ready["resume_gateway_url"]
            .as_str()
            .unwrap_or(url)
            .to_owned(),
    })
}

/// Twice the last wait, with some chance in it, so that many do not come back at once.
fn longer(wait: Duration) -> Duration {
    let base = (wait * 2).clamp(FIRST_WAIT, LONGEST_WAIT);
    base.mul_f64(0.75 + fastrand::f64() / 2.0)
}
