//! What time asks for: one reminder, a close after long silence, and letting go of what is old.

use super::{Desk, Dialogue, length, log, logged, words};
use crate::conversation::event::{Event, Logged};
use crate::reply::{Line, Phase, Reply};
use crate::store::forget::Erased;
use crate::store::name::{ConversationId, Status};
use crate::store::problem::StoreError;
use crate::store::{Entry, Kept, Outgoing};
use jiff::{SignedDuration, Timestamp};

/// Hours of silence after which a rider is reminded, once.
pub const SILENT_HOURS: i64 = 72;
/// Days of silence after which a conversation is closed; the rider's next message goes on with it.
pub const REST_DAYS: i64 = 14;

/// What was done.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tended {
    /// To be sent, in this order, then reported with [`Desk::sent`].
    pub outgoing: Vec<Outgoing>,
    /// What had been kept long enough.
    pub erased: Erased,
}

/// What silence calls for.
enum Due {
    Reminder,
    Rest,
}

impl<D: Dialogue> Desk<D> {
    /// Does what time asks for; to be called every hour or so.
    ///
    /// # Errors
    /// When the store fails; what was done until then is in the outbox.
    pub async fn tend(&self) -> Result<Tended, StoreError> {
        let now = (self.given.clock)();
        let erased = self.store.sweep(now).await?;
        let since = earlier(now, SILENT_HOURS);
        let mut outgoing = Vec::new();
        for of in self.store.silent(Status::Unfinished, since).await? {
            outgoing.extend(self.tend_one(of, now).await?);
        }
        Ok(Tended { outgoing, erased })
    }

    async fn tend_one(
        &self,
        of: ConversationId,
        now: Timestamp,
    ) -> Result<Option<Outgoing>, StoreError> {
        let Some(home) = self.store.home(of).await? else {
            return Ok(None);
        };
        let _lane = self.lanes.enter(&home.address).await;
        if self.store.latest(home.address.clone()).await? != Some(of) {
            // Left for a new conversation at the same place: nothing more to be said.
            return Ok(None);
        }
        let kept = self.store.load(of).await?;
        let setting = self.store.setting(home.address.group()).await?;
        let Some(due) = due(&kept, setting.nudge, now) else {
            return Ok(None);
        };
        let log = log(kept);
        let (event, reply) = match due {
            Due::Reminder => (Event::Nudged, reminder(self.dialogue.resume(&log))),
            Due::Rest => (Event::Rested, rest(self.dialogue.resume(&log))),
        };
        let turn = log.last().map_or(0, |last| last.turn + 1);
        let entry = Entry {
            conversation: of,
            opens: None,
            at: now,
            after: length(&log),
            resting: event == Event::Rested,
            events: logged(turn, vec![event]),
            message: None,
            reply: Reply { turn, ..reply },
        };
        self.keep(home.address, entry).await.map(Some)
    }
}

fn earlier(now: Timestamp, hours: i64) -> Timestamp {
    let span = SignedDuration::from_hours(hours);
    now.checked_sub(span).unwrap_or(Timestamp::MIN)
}

/// Counted from the rider's last message. A rider who was reminded is not reminded again.
fn due(kept: &[Kept], nudge: bool, now: Timestamp) -> Option<Due> {
    let spoke = kept.iter().rposition(|kept| is_spoken(&kept.logged))?;
    let since = kept[spoke].at;
    let reminded = kept[spoke..]
        .iter()
        .any(|kept| kept.logged.event == Event::Nudged);
    if since <= earlier(now, 24 * REST_DAYS) {
        Some(Due::Rest)
    } else if nudge && !reminded && since <= earlier(now, SILENT_HOURS) {
        Some(Due::Reminder)
    } else {
        None
    }
}

fn is_spoken(logged: &Logged) -> bool {
    matches!(logged.event, Event::Heard(_) | Event::Opened(_))
}

fn reminder(mut reply: Reply) -> Reply {
    reply.lines.insert(0, Line::Plain(words::NUDGE.to_owned()));
    dangers_first(&mut reply);
    reply
}

/// Closed, with what stands so far and nothing to answer.
fn rest(mut reply: Reply) -> Reply {
    reply
        .lines
        .retain(|line| matches!(line, Line::Danger(_) | Line::Plain(_) | Line::Judgement(_)));
    reply.lines.insert(0, Line::Plain(words::REST.to_owned()));
    dangers_first(&mut reply);
    reply.phase = Phase::Closed;
    reply.asks.clear();
    reply.choices.clear();
    reply.cautions.clear();
    reply
}

fn dangers_first(reply: &mut Reply) {
    reply
        .lines
        .sort_by_key(|line| !matches!(line, Line::Danger(_)));
}
