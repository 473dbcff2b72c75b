//! What the tests of the channel share: a group with people in it, and the channel serving it.

use std::path::PathBuf;
use std::sync::{Arc, LazyLock};
use std::time::Duration;

use floatbowl::channel::discord::{self, DiscordError, Registration, Setting};
use floatbowl::channel::gauges::Gauges;
use floatbowl::conversation::event::{Event, Incoming, Logged, Terms};
use floatbowl::conversation::{State, advance, open, resume, trail};
use floatbowl::desk::{Desk, Dialogue, Given};
use floatbowl::knowledge::Knowledge;
use floatbowl::knowledge::load::embedded;
use floatbowl::reply::{Reply, Trail};
use floatbowl::store::Store;
use tokio::task::JoinHandle;
use tokio_util::sync::CancellationToken;

use crate::fake::Fake;
use crate::fake::permission::{MANAGE_GUILD, MANAGE_MESSAGES};

/// The group all tests play in; in shard 0 of 1 and of 2.
pub const GUILD: u64 = 2 << 22;

static KNOWLEDGE: LazyLock<Knowledge> =
    LazyLock::new(|| Knowledge::compile(embedded()).expect("the knowledge is well"));

/// The real conversation.
pub struct Real;

impl Dialogue for Real {
    fn open(&self, terms: &Terms) -> (Vec<Event>, Reply) {
        open(terms, &KNOWLEDGE)
    }

    fn advance(&self, log: &[Logged], incoming: &Incoming) -> (Vec<Event>, Reply) {
        advance(&State::fold(log), incoming, &KNOWLEDGE)
    }

    fn trail(&self, log: &[Logged]) -> Option<Trail> {
        trail(&State::fold(log), &KNOWLEDGE)
    }

    fn resume(&self, log: &[Logged]) -> Reply {
        resume(&State::fold(log), &KNOWLEDGE)
    }
}

/// A group with a rider, a helper and a moderator, a text channel and a forum.
pub struct Stage {
    pub fake: Fake,
    pub channel: u64,
    pub forum: u64,
    pub rider: u64,
    pub helper: u64,
    pub moderator: u64,
    pub desk: Arc<Desk<Real>>,
    pub gauges: Arc<Gauges>,
    pub setting: Setting,
    stop: CancellationToken,
    serving: Option<JoinHandle<Result<(), DiscordError>>>,
}

impl Stage {
    /// The scene, with nobody serving yet.
    pub async fn set() -> Self {
        let fake = Fake::start().await;
        fake.guild(GUILD);
        let moderating = fake.role(GUILD, "demo-moderators", MANAGE_GUILD | MANAGE_MESSAGES);
        let channel = fake.text_channel(GUILD, "help");
        let states = ["Open", "Waiting for rider", "Solved", "Shop"];
        let (forum, _) = fake.forum(GUILD, "faults", &states);
        let (rider, helper) = (
            fake.member(GUILD, "demo-rider", &[]),
            fake.member(GUILD, "demo-helper", &[]),
        );
        let moderator = fake.member(GUILD, "demo-moderator", &[moderating]);
        let store = Store::in_memory().expect("a store");
        let mut setting = Setting::new(&fake.token(), Terms::default());
        setting.message_content = true;
        setting.registration = Registration::Everywhere;
        setting.client = Some(fake.http_client());
        setting.identify_every = Duration::from_millis(20);
        fake.set(|settings| settings.limits.identify_window = Duration::from_millis(15));
        Self {
            fake,
            channel,
            forum,
            rider,
            helper,
            moderator,
            desk: Arc::new(Desk::new(store, Real, Given::by_system())),
            gauges: Arc::default(),
            setting,
            stop: CancellationToken::new(),
            serving: None,
        }
    }

    /// The scene, served, with the commands registered.
    pub async fn new() -> Self {
        let mut stage = Self::set().await;
        stage.serve().await;
        stage
    }

    /// The scene, served without the message content intent.
    pub async fn without_content() -> Self {
        let mut stage = Self::set().await;
        stage.fake.message_content(false);
        stage.setting.message_content = false;
        stage.serve().await;
        stage
    }

    /// Begins to serve.
    pub async fn serve(&mut self) {
        self.begin();
        let shards = self.setting.shards;
        let count = usize::try_from(shards.last - shards.first + 1).expect("few");
        self.fake.wait_for_shards(count).await;
        let registered = |world: &crate::fake::world::World| !world.registered(None).is_empty();
        self.fake.wait_until("commands", registered).await;
    }

    /// Begins to serve, whatever comes of it.
    pub fn begin(&mut self) {
        self.stop = CancellationToken::new();
        let serving = discord::serve(
            Arc::clone(&self.desk),
            self.setting.clone(),
            Arc::clone(&self.gauges),
            self.stop.clone(),
        );
        self.serving = Some(tokio::spawn(serving));
    }

    /// Keeps gateway sessions in a folder.
    pub fn keep_sessions(&mut self, folder: PathBuf) {
        self.setting.sessions = Some(folder);
    }

    /// How serving ended, once it has.
    pub async fn ended(&mut self) -> Result<(), DiscordError> {
        let serving = self.serving.take().expect("it was begun");
        serving.await.expect("no panic")
    }

    /// Stops gracefully.
    pub async fn stop(&mut self) {
        self.stop.cancel();
        self.ended().await.expect("a graceful end");
    }

    /// A conversation the rider began with a command; its thread, once the first answer is there.
    pub async fn begun(&self, complaint: &str) -> u64 {
        let before = self.fake.read(|world| world.threads(self.channel));
        let what = [("what", complaint.into())];
        self.fake
            .slash(self.channel, self.rider, "bike-trouble", &what);
        let channel = self.channel;
        let thread = self
            .fake
            .wait_for("a thread", |world| {
                let threads = world.threads(channel);
                threads.into_iter().find(|thread| !before.contains(thread))
            })
            .await;
        self.answers(thread, 2).await;
        thread
    }

    /// Waits until the bot has said so many things in a thread, the pinned summary not counted; the
    /// last of them.
    pub async fn answers(&self, thread: u64, count: usize) -> u64 {
        let what = format!("{count} answers");
        self.fake
            .wait_for(&what, |world| {
                let said: Vec<u64> = world
                    .bot_said(thread)
                    .iter()
                    .filter(|message| !message.content().starts_with("**Where we are**"))
                    .map(|message| message.id())
                    .collect();
                (said.len() >= count).then(|| said[said.len() - 1])
            })
            .await
    }

    /// The text of a message.
    pub fn text(&self, message: u64) -> String {
        self.fake.read(|world| {
            let message = world.live(message).expect("it is there");
            message.content().to_owned()
        })
    }

    /// Says something in a thread and waits for one more answer; its id.
    pub async fn say(&self, thread: u64, text: &str) -> u64 {
        let said = self.count(thread);
        self.fake.say(thread, self.rider, text);
        self.answers(thread, said + 1).await
    }

    /// How many things the bot has said in a thread, the pinned summary not counted.
    pub fn count(&self, thread: u64) -> usize {
        self.fake.read(|world| {
            let said = world.bot_said(thread);
            let summary = |message: &&&crate::fake::world::Message| {
                !message.content().starts_with("**Where we are**")
            };
            said.iter().filter(summary).count()
        })
    }

    /// What an interaction was answered with.
    pub async fn answer(&self, interaction: u64) -> String {
        self.fake
            .wait_for("an answer to an interaction", |world| {
                let answer = world.answer(interaction)?;
                Some(answer.content().to_owned())
            })
            .await
    }
}
