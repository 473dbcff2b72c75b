//! The one place where a turn meets the world: load, advance, keep, and only then hand out.
//!
//! The desk takes one message at a time per address and many addresses at once. A message whose
//! id it has seen gets the answer it got then. A reply waits in the outbox, kept in the same write
//! as the events of its turn, until the channel says that it was sent; what is still there at the
//! next start goes out then, in order.
//!
//! Three things are the desk's own, since they are about a conversation and not in it: asking once, at
//! its end, whether volunteers may read it (`consent`); erasing everything of a person who asks for it
//! (`parting`); reminding once after a long silence, closing after a longer one, and letting go of what
//! was kept long enough (`tend`). Their sentences are in [`words`].
//!
//! Deliberately absent: what a message means ([`Dialogue`] knows), how a reply looks (the channel
//! knows), the time and the ids of new conversations ([`Given`] brings them).

mod assistant;
mod consent;
mod lane;
mod look;
mod parting;
mod tend;
pub mod words;

use crate::conversation::event::{Event, Incoming, Logged, Terms, Turn};
use crate::reply::{Reply, Trail};
use crate::store::name::{Address, ConversationId, MessageId, Rider, Status};
use crate::store::problem::StoreError;
use crate::store::{Before, Entry, Home, Kept, Outgoing, Store};
pub use assistant::Assistant;
pub use consent::asks_consent;
use jiff::Timestamp;
use lane::Lanes;
pub use look::{End, Waiting};
pub use tend::{REST_DAYS, SILENT_HOURS, Tended};

/// Whoever decides what is said. Pure: the same log and message give the same answer.
///
/// Every turn has at least one event, and its number is one more than that of the last event.
pub trait Dialogue: Send + Sync {
    /// The greeting: turn 0.
    fn open(&self, terms: &Terms) -> (Vec<Event>, Reply);

    /// The answer to a message, with everything that happened in the turn.
    fn advance(&self, log: &[Logged], incoming: &Incoming) -> (Vec<Event>, Reply);

    /// What is on the table in a conversation, said again. Nothing happens by it.
    fn resume(&self, log: &[Logged]) -> Reply;

    /// Where on the bike the check on the table is made, to be drawn.
    fn trail(&self, _log: &[Logged]) -> Option<Trail> {
        None
    }

    /// What would happen if this were said. Nothing does.
    fn imagine(&self, log: &[Logged], incoming: &Incoming) -> Vec<Event> {
        self.advance(log, incoming).0
    }
}

/// What the desk does not make up itself.
pub struct Given {
    /// The time now.
    pub clock: Box<dyn Fn() -> Timestamp + Send + Sync>,
    /// An id no conversation has yet.
    pub ids: Box<dyn Fn() -> ConversationId + Send + Sync>,
}

impl Given {
    /// The computer's clock, and ids by chance.
    ///
    /// # Panics
    /// The ids do, when the system has no source of randomness.
    #[must_use]
    pub fn by_system() -> Self {
        Self {
            clock: Box::new(Timestamp::now),
            ids: Box::new(|| {
                ConversationId(getrandom::u64().expect("the system is a source of randomness"))
            }),
        }
    }
}

/// Something a rider sent.
#[derive(Debug, Clone, PartialEq)]
pub struct Message {
    /// Where.
    pub address: Address,
    /// By whom; none where a place has one person only.
    pub rider: Option<Rider>,
    /// The channel's id of it, if the channel may deliver it twice.
    pub id: Option<MessageId>,
    /// What.
    pub incoming: Incoming,
}

/// What the desk answers.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// To be sent, in this order, then reported with [`Desk::sent`]. The first message at an
    /// address is answered by the greeting and the reply; one that belongs to what has been forgotten
    /// by nothing.
    New(Vec<Outgoing>),
    /// The message was answered before, with this. Whether it was sent is the outbox's business.
    Repeat(Box<Outgoing>),
}

/// A conversation as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Which.
    pub conversation: ConversationId,
    /// Whether anything is left to do.
    pub status: Status,
    /// The last turn; 0 if only the greeting was said.
    pub turn: Turn,
    /// When anything last happened in it.
    pub last: Timestamp,
    /// How it ended, if it did.
    pub end: Option<End>,
    /// What is on the table: the greeting, or what the dialogue says on coming back.
    pub reply: Reply,
}

/// Takes messages and gives answers, durably.
pub struct Desk<D> {
    store: Store,
    dialogue: D,
    given: Given,
    lanes: Lanes,
}

impl<D: Dialogue> Desk<D> {
    /// A desk over a store.
    #[must_use]
    pub fn new(store: Store, dialogue: D, given: Given) -> Self {
        Self {
            store,
            dialogue,
            given,
            lanes: Lanes::default(),
        }
    }

    /// Whoever decides what is said here.
    #[must_use]
    pub fn dialogue(&self) -> &D {
        &self.dialogue
    }

    /// The store behind it.
    #[must_use]
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Opens a conversation at an address, whatever was there before.
    ///
    /// # Errors
    /// When the store fails; then nothing happened.
    pub async fn open(
        &self,
        address: &Address,
        rider: Option<Rider>,
        terms: &Terms,
    ) -> Result<Outgoing, StoreError> {
        let _lane = self.lanes.enter(address).await;
        let (greeting, _) = self.begin(home(address, rider), terms).await?;
        Ok(greeting)
    }

    /// Takes a message to the latest conversation at its address, opening the first one.
    ///
    /// # Errors
    /// When the store fails; then the message was not taken and may be sent again.
    pub async fn take(&self, message: Message, terms: &Terms) -> Result<Answer, StoreError> {
        let _lane = self.lanes.enter(&message.address).await;
        let before = self
            .store
            .before(message.address.clone(), message.id.clone());
        match before.await? {
            Before::Answered(outgoing) => Ok(Answer::Repeat(outgoing)),
            Before::Forgotten => Ok(Answer::New(Vec::new())),
            Before::Events(conversation, kept) => {
                let reply = self.turn(conversation, log(kept), message).await?;
                Ok(Answer::New(vec![reply]))
            }
            Before::Nothing => {
                let home = home(&message.address, message.rider.clone());
                let (greeting, log) = self.begin(home, terms).await?;
                let reply = self.turn(greeting.conversation, log, message).await?;
                Ok(Answer::New(vec![greeting, reply]))
            }
        }
    }

    /// How things stand at an address; none if no conversation was ever opened there.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn standing(&self, address: &Address) -> Result<Option<Standing>, StoreError> {
        let before = self.store.before(address.clone(), None).await?;
        let Before::Events(conversation, kept) = before else {
            return Ok(None);
        };
        let status = self.store.status(conversation).await?;
        let (Some(status), Some(last)) = (status, kept.last().cloned()) else {
            return Ok(None);
        };
        let turn = last.logged.turn;
        let greeting = if turn == 0 {
            self.store.said(conversation, turn).await?
        } else {
            None
        };
        let log = log(kept);
        let end = look::end(&log, status);
        let reply = match greeting {
            Some(greeting) => greeting.reply,
            None => self.dialogue.resume(&log),
        };
        Ok(Some(Standing {
            conversation,
            status,
            turn,
            last: last.at,
            end,
            reply,
        }))
    }

    /// Replies kept but not known to be sent, in order. To be asked at start, before messages come.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn unsent(&self) -> Result<Vec<Outgoing>, StoreError> {
        self.store.unsent().await
    }

    /// Notes that a reply has reached the rider.
    ///
    /// # Errors
    /// When the store fails; then the reply may go out a second time after the next start.
    pub async fn sent(&self, outgoing: &Outgoing) -> Result<(), StoreError> {
        let Outgoing {
            conversation, turn, ..
        } = outgoing;
        self.store.mark_sent(*conversation, *turn).await
    }

    /// The greeting, kept, with the log it leaves.
    async fn begin(
        &self,
        home: Home,
        terms: &Terms,
    ) -> Result<(Outgoing, Vec<Logged>), StoreError> {
        let (events, reply) = self.dialogue.open(terms);
        let events = logged(reply.turn, events);
        let address = home.address.clone();
        let entry = Entry {
            conversation: (self.given.ids)(),
            opens: Some(home),
            at: (self.given.clock)(),
            after: 0,
            events: events.clone(),
            message: None,
            resting: false,
            reply,
        };
        let outgoing = self.keep(address, entry).await?;
        Ok((outgoing, events))
    }

    async fn turn(
        &self,
        conversation: ConversationId,
        log: Vec<Logged>,
        message: Message,
    ) -> Result<Outgoing, StoreError> {
        let (mut events, mut reply) = match consent::answered(&log, &message.incoming) {
            Some(yes) => consent::thanks(&self.dialogue, &log, &message.incoming, yes),
            None => self.dialogue.advance(&log, &message.incoming),
        };
        let expected = log.last().map_or(0, |last| last.turn + 1);
        assert_eq!(reply.turn, expected, "turns are numbered without a gap");
        assert!(!events.is_empty(), "a turn leaves a trace");
        if events.contains(&Event::ForgetAsked) {
            return self.part(conversation, message, &reply).await;
        }
        consent::ask(&log, &mut events, &mut reply);
        let entry = Entry {
            conversation,
            opens: None,
            at: (self.given.clock)(),
            after: length(&log),
            events: logged(reply.turn, events),
            message: message.id,
            resting: false,
            reply,
        };
        self.keep(message.address, entry).await
    }

    async fn keep(&self, address: Address, entry: Entry) -> Result<Outgoing, StoreError> {
        let outgoing = Outgoing {
            conversation: entry.conversation,
            address,
            turn: entry.reply.turn,
            at: entry.at,
            reply: entry.reply.clone(),
        };
        self.store.append(entry).await?;
        Ok(outgoing)
    }
}

/// Where and whose; a place with one person stands for that person.
fn home(address: &Address, rider: Option<Rider>) -> Home {
    Home {
        rider: rider.unwrap_or_else(|| Rider::new(address.as_str())),
        address: address.clone(),
    }
}

fn length(log: &[Logged]) -> u32 {
    u32::try_from(log.len()).expect("a conversation has fewer than 2^32 events")
}

fn log(kept: Vec<Kept>) -> Vec<Logged> {
    kept.into_iter().map(|kept| kept.logged).collect()
}

fn logged(turn: Turn, events: Vec<Event>) -> Vec<Logged> {
    let of_turn = |event| Logged { turn, event };
    events.into_iter().map(of_turn).collect()
}
