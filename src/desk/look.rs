//! Looking without touching: whose a place is, what waits there, what a text would add.

use super::{Desk, Dialogue, log};
use crate::conversation::event::{Ending, Event, HandOver, Incoming, Logged, Turn};
use crate::reply::Trail;
use crate::store::Before;
use crate::store::name::{Address, ConversationId, Group, Rider, Status};
use crate::store::problem::StoreError;
use jiff::Timestamp;

/// A conversation whose rider may still say something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waiting {
    /// Which.
    pub conversation: ConversationId,
    /// Where it is held.
    pub address: Address,
    /// Whose it is.
    pub rider: Rider,
    /// When anything last happened in it.
    pub last: Timestamp,
}

/// How a conversation has come to an end, if it has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum End {
    /// A person has taken over.
    HandedOver(HandOver),
    /// It was closed.
    Closed(Ending),
}

impl<D: Dialogue> Desk<D> {
    /// Whose the latest conversation at an address is; none if there is none.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn owner(&self, address: &Address) -> Result<Option<Rider>, StoreError> {
        let Some(conversation) = self.store.latest(address.clone()).await? else {
            return Ok(None);
        };
        let home = self.store.home(conversation).await?;
        Ok(home.map(|home| home.rider))
    }

    /// Whether a text would add something to what is known at an address, or report a danger. Nothing
    /// happens by asking.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn would_tell(&self, address: &Address, text: &str) -> Result<bool, StoreError> {
        let Before::Events(_, kept) = self.store.before(address.clone(), None).await? else {
            return Ok(false);
        };
        let incoming = Incoming::Text(text.to_owned());
        let events = self.dialogue.imagine(&log(kept), &incoming);
        Ok(events.iter().any(tells))
    }

    /// Where on the bike the check on the table is made; none unless the conversation still stands at
    /// that turn.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn trail(
        &self,
        conversation: ConversationId,
        turn: Turn,
    ) -> Result<Option<Trail>, StoreError> {
        let log = log(self.store.load(conversation).await?);
        let stands = log.last().is_some_and(|last| last.turn == turn);
        Ok(stands.then(|| self.dialogue.trail(&log)).flatten())
    }

    /// Where conversations of a rider are held.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn places_of(&self, rider: &Rider) -> Result<Vec<Address>, StoreError> {
        let mut places = Vec::new();
        for conversation in self.store.of_rider(rider.clone()).await? {
            let home = self.store.home(conversation).await?;
            places.extend(home.map(|home| home.address));
        }
        Ok(places)
    }

    /// The conversations of a group whose riders may still say something: all that are not closed,
    /// and those closed only for silence.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn waiting(&self, group: &Group) -> Result<Vec<Waiting>, StoreError> {
        let mut waiting = Vec::new();
        for conversation in self.store.of_group(group.clone()).await? {
            let closed = self.store.status(conversation).await? == Some(Status::Closed);
            let home = self.store.home(conversation).await?;
            let (false, Some(home)) = (closed, home) else {
                continue;
            };
            let kept = self.store.load(conversation).await?;
            let latest = self.store.latest(home.address.clone()).await?;
            if let (Some(last), true) = (kept.last(), latest == Some(conversation)) {
                waiting.push(Waiting {
                    conversation,
                    address: home.address,
                    rider: home.rider,
                    last: last.at,
                });
            }
        }
        Ok(waiting)
    }
}

/// Whether an event holds something about the bike or a danger.
fn tells(event: &Event) -> bool {
    matches!(
        event,
        Event::Found(_)
            | Event::LeadsRead(_)
            | Event::SpecTold(_)
            | Event::SystemTold(_)
            | Event::HazardRaised(_)
    )
}

/// The end that a log tells of, unless the conversation went on after it.
pub(super) fn end(log: &[Logged], status: Status) -> Option<End> {
    let ends = log.iter().rev().find_map(|logged| match &logged.event {
        Event::Closed(ending) => Some(End::Closed(ending.clone())),
        Event::HandedOver(reason) => Some(End::HandedOver(reason.clone())),
        _ => None,
    });
    match status {
        Status::Closed | Status::HandedOver => ends,
        Status::Unfinished | Status::Resting => None,
    }
}
