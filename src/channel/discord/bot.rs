//! What every part of the channel shares: the desk, REST, the lines of work, and small memories.

use super::event::{Interaction, Message};
use super::lanes::Lanes;
use super::places::Places;
use super::recent::Recent;
use super::rest::Rest;
use super::{Setting, catch_up, errand, hear, postman};
use crate::channel::gauges::Gauges;
use crate::conversation::event::{Terms, Turn};
use crate::desk::{Desk, Dialogue};
use crate::store::Outgoing;
use crate::store::name::{Address, Group, Rider};
use crate::store::problem::StoreError;
use serenity::model::id::{ApplicationId, ChannelId, GuildId, MessageId, UserId};
use std::cmp::Ordering;
use std::sync::{Arc, OnceLock};
use tokio::time::Instant;
use tokio_util::sync::CancellationToken;
use tokio_util::task::TaskTracker;

/// Who we are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Me {
    /// As a member.
    pub user: UserId,
    /// As an application.
    pub application: ApplicationId,
}

/// Something a person did, to be taken in the order of the ids.
#[derive(Debug)]
pub struct Job {
    /// The id of the message or interaction.
    pub order: u64,
    /// When it came.
    pub since: Instant,
    /// What.
    pub what: What,
}

/// The sorts of things a person does.
#[derive(Debug)]
pub enum What {
    /// Wrote a message.
    Said(Message),
    /// Wrote a message while we were away: bystanders are not asked about it.
    SaidBefore(Message),
    /// Gave a command, pressed, chose or filled in.
    Acted(Box<Interaction>),
}

/// A reply to be sent.
#[derive(Debug)]
pub struct Letter {
    /// The reply, with where it goes.
    pub outgoing: Outgoing,
    /// When what it answers came.
    pub since: Instant,
}

/// A thread whose title, tags and summary are to be brought up to a turn.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Errand {
    /// The turn.
    pub turn: Turn,
    /// Where.
    pub address: Address,
}

/// What a thread was last seen to show.
#[derive(Debug, Clone, Default)]
pub struct Shown {
    /// Up to which turn.
    pub turn: Turn,
    /// The state in its title and tags.
    pub mark: Option<errand::Mark>,
    /// The pinned message.
    pub pinned: Option<MessageId>,
    /// What stands in it.
    pub summary: String,
}

/// The channel, while it runs.
pub struct Bot<D> {
    /// Where turns are taken.
    pub desk: Arc<Desk<D>>,
    /// Where calls are made.
    pub rest: Rest,
    /// How it is set up.
    pub setting: Setting,
    /// What is counted.
    pub gauges: Arc<Gauges>,
    /// When to take nothing new.
    pub stop: CancellationToken,
    /// When to leave even what is in hand.
    pub cut: CancellationToken,
    /// Everything that is being done.
    pub running: TaskTracker,
    /// What people did, by channel.
    pub inbox: Lanes<u64, Job>,
    /// Replies, by thread.
    pub letters: Lanes<u64, Letter>,
    /// Titles and summaries, by thread.
    pub errands: Lanes<u64, Errand>,
    /// Channels where we are forbidden to act, since when.
    pub barred: Recent<Instant>,
    /// Threads that were told that plain messages cannot be read.
    pub hinted: Recent<()>,
    /// The open offer to take a bystander's message in, by thread.
    pub offers: Recent<MessageId>,
    /// Threads opened by us in which nothing has been said yet.
    pub fresh: Recent<()>,
    /// What threads show.
    pub shown: Recent<Shown>,
    me: OnceLock<Me>,
    broken: OnceLock<StoreError>,
}

impl<D: Dialogue + 'static> Bot<D> {
    /// A bot at a desk.
    pub fn new(
        desk: Arc<Desk<D>>,
        rest: Rest,
        setting: Setting,
        gauges: Arc<Gauges>,
        stop: CancellationToken,
    ) -> Arc<Self> {
        let running = TaskTracker::new();
        Arc::new_cyclic(|bot: &std::sync::Weak<Self>| {
            let (hearing, sending, tidying) = (bot.clone(), bot.clone(), bot.clone());
            Self {
                desk,
                rest,
                setting,
                gauges,
                stop,
                cut: CancellationToken::new(),
                inbox: Lanes::new(running.clone(), move |job| {
                    let bot = hearing.upgrade();
                    async move {
                        if let Some(bot) = bot {
                            hear::hear(bot, job).await;
                        }
                    }
                }),
                letters: Lanes::new(running.clone(), move |letter| {
                    let bot = sending.upgrade();
                    async move {
                        if let Some(bot) = bot {
                            postman::deliver(bot, letter).await;
                        }
                    }
                }),
                errands: Lanes::new(running.clone(), move |errand| {
                    let bot = tidying.upgrade();
                    async move {
                        if let Some(bot) = bot {
                            errand::run(bot, errand).await;
                        }
                    }
                }),
                running,
                barred: Recent::default(),
                hinted: Recent::default(),
                offers: Recent::default(),
                fresh: Recent::default(),
                shown: Recent::default(),
                me: OnceLock::new(),
                broken: OnceLock::new(),
            }
        })
    }

    /// Who we are, once Discord has said so.
    #[must_use]
    pub fn me(&self) -> Option<Me> {
        self.me.get().copied()
    }

    /// Learns who we are; true the first time.
    pub fn introduce(&self, me: Me) -> bool {
        self.me.set(me).is_ok()
    }

    /// The terms of a new conversation, about a bike with a sheet or any.
    #[must_use]
    pub fn terms(&self, bike: Option<String>) -> Terms {
        let mut terms = self.setting.terms.clone();
        if let Some(bike) = bike {
            let sheet = self.setting.sheets.get(&bike);
            terms.system = sheet.map(|sheet| sheet.system.clone()).or(terms.system);
            terms.bike = Some(bike);
        }
        terms
    }

    /// Stops serving where the store can keep nothing more, since every turn would be lost; whoever runs
    /// this is told by the end of the process.
    pub fn store_failed(&self, error: StoreError) {
        tracing::error!(%error, "the store fails");
        if !matches!(
            error,
            StoreError::Overtaken { .. } | StoreError::Damaged { .. }
        ) {
            self.stop.cancel();
            // The first failure is the one that tells why.
            let _ = self.broken.set(error);
        }
    }

    /// Why serving was stopped, if the store failed.
    #[must_use]
    pub fn broken(self: &Arc<Self>) -> Option<String> {
        self.broken.get().map(ToString::to_string)
    }

    /// What a group has set up.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn places(&self, guild: GuildId) -> Result<Places, StoreError> {
        let setting = self.desk.store().setting(group(guild)).await?;
        Ok(Places::of(&setting))
    }

    /// Sends replies that wait in the outbox since an earlier run.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn send_unsent(&self) -> Result<(), StoreError> {
        for outgoing in self.desk.unsent().await? {
            self.send(outgoing, Instant::now());
        }
        Ok(())
    }

    /// Puts a reply in line, if it belongs to this channel.
    pub fn send(&self, outgoing: Outgoing, since: Instant) {
        if let Some((_, thread)) = whereabouts(&outgoing.address) {
            self.gauges
                .waiting(outgoing.conversation, outgoing.turn, since);
            self.letters.put(thread.get(), Letter { outgoing, since });
        }
    }

    /// Reads what was missed in a group, beside everything else.
    pub fn catch_up(self: &Arc<Self>, guild: GuildId) {
        let bot = Arc::clone(self);
        self.running.spawn(async move {
            catch_up::group_of(&bot, guild).await;
        });
    }
}

/// The address of a thread.
#[must_use]
pub fn address(guild: GuildId, thread: ChannelId) -> Address {
    Address::new(&format!("discord/{guild}/{thread}"))
}

/// The group of a guild.
#[must_use]
pub fn group(guild: GuildId) -> Group {
    Group::new(&format!("discord/{guild}"))
}

/// A rider by their id.
#[must_use]
pub fn rider(user: UserId) -> Rider {
    Rider::new(&format!("discord/{user}"))
}

/// The id of a rider of this channel.
#[must_use]
pub fn user(rider: &Rider) -> Option<UserId> {
    let id = rider.as_str().strip_prefix("discord/")?.parse().ok()?;
    (id != 0).then(|| UserId::new(id))
}

/// The guild and thread of an address of this channel.
#[must_use]
pub fn whereabouts(address: &Address) -> Option<(GuildId, ChannelId)> {
    let (guild, thread) = address.as_str().strip_prefix("discord/")?.split_once('/')?;
    let (guild, thread): (u64, u64) = (guild.parse().ok()?, thread.parse().ok()?);
    (guild != 0 && thread != 0).then(|| (GuildId::new(guild), ChannelId::new(thread)))
}

/// A message or interaction as the store knows it.
#[must_use]
pub fn stored(id: u64) -> crate::store::name::MessageId {
    crate::store::name::MessageId::new(&format!("discord/{id}"))
}

impl PartialEq for Job {
    fn eq(&self, other: &Self) -> bool {
        self.order == other.order
    }
}

impl Eq for Job {}

impl PartialOrd for Job {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Job {
    fn cmp(&self, other: &Self) -> Ordering {
        self.order.cmp(&other.order)
    }
}

impl PartialEq for Letter {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Letter {}

impl PartialOrd for Letter {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// By time, then by turn: replies of one thread go out in the order they were made.
impl Ord for Letter {
    fn cmp(&self, other: &Self) -> Ordering {
        let (a, b) = (&self.outgoing, &other.outgoing);
        (a.at, a.turn).cmp(&(b.at, b.turn))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_lead_back() {
        let (guild, thread) = (GuildId::new(7), ChannelId::new(8));
        assert_eq!(whereabouts(&address(guild, thread)), Some((guild, thread)));
        assert_eq!(address(guild, thread).group(), group(guild));
        assert_eq!(user(&rider(UserId::new(9))), Some(UserId::new(9)));
        for foreign in [
            "terminal",
            "discord/7",
            "discord/0/8",
            "discord/x/8",
            "web/7/8",
        ] {
            assert_eq!(whereabouts(&Address::new(foreign)), None, "{foreign}");
        }
    }
}
