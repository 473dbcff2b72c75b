//! A fake of Discord's public API, REST and gateway, that a test drives; nothing in it runs by itself.
//!
//! It keeps what a guild keeps (members, channels, threads, messages, commands, interactions), lets the
//! test act as the people in it, fails where the test orders it, and checks everything it is sent against
//! Discord's documented limits. What breaks one is a breach; a fake that is dropped with breaches in it
//! fails its test, unless the test took them.
//!
//! A test sets the scene (`guild`, `text_channel`, `forum`, `member`), starts the bot against
//! `http_client` or `proxy_address`, acts (`say`, `slash`, `press`), and waits for what the bot does
//! (`wait_for`). A test that blocks its thread needs a runtime of several threads, since the fake lives on
//! the test's own.

mod act;
pub mod call;
pub mod check;
pub mod failure;
pub mod gateway;
mod pace;
pub mod permission;
mod reply;
mod rest;
mod scene;
mod server;
pub mod settings;
mod shape;
mod state;
mod time;
mod tls;
pub mod world;

use std::fmt::Write as _;
use std::net::SocketAddr;
use std::panic::Location;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use regex::Regex;
use tokio::net::TcpListener;
use tokio::sync::watch;

use call::Call;
use failure::Failure;
use settings::Settings;
use world::World;

/// How often something is looked for while nothing changes.
const TICK: Duration = Duration::from_millis(20);

/// The world, and a bell that rings whenever it may have changed.
pub struct Shared {
    world: Mutex<World>,
    changed: watch::Sender<()>,
}

/// Tells where the fake was called from, if the call fails.
struct Trace(&'static Location<'static>);

impl Drop for Trace {
    fn drop(&mut self) {
        if std::thread::panicking() {
            eprintln!("the fake was called from {}", self.0);
        }
    }
}

impl Shared {
    #[track_caller]
    fn with<T>(&self, act: impl FnOnce(&mut World) -> T) -> T {
        let _trace = Trace(Location::caller());
        // A test that failed inside has poisoned nothing that its siblings see.
        let out = act(&mut self.world.lock().unwrap_or_else(PoisonError::into_inner));
        self.changed.send_replace(());
        out
    }

    fn read<T>(&self, look: impl FnOnce(&World) -> T) -> T {
        look(&self.world.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// A running fake.
pub struct Fake {
    shared: Arc<Shared>,
    root: String,
    rest: SocketAddr,
    proxy: SocketAddr,
}

impl Fake {
    /// Starts REST, gateway and proxy on loopback.
    pub async fn start() -> Self {
        let (root, tls) = tls::acceptor();
        let shared = Arc::new(Shared {
            world: Mutex::new(World::new()),
            changed: watch::channel(()).0,
        });
        let [rest, gateway, resume, proxy] =
            [bind().await, bind().await, bind().await, bind().await];
        let [rest_at, gateway_at, resume_at, proxy_at] =
            [&rest, &gateway, &resume, &proxy].map(address);
        shared.with(|world| {
            world.gateway.address = format!("ws://{gateway_at}");
            world.gateway.resume_address = format!("ws://{resume_at}");
        });
        tokio::spawn(server::serve(Arc::clone(&shared), rest, tls));
        tokio::spawn(gateway::serve::serve(Arc::clone(&shared), gateway, false));
        tokio::spawn(gateway::serve::serve(Arc::clone(&shared), resume, true));
        tokio::spawn(tls::proxy(Arc::clone(&shared), proxy, rest_at));
        Self {
            shared,
            root,
            rest: rest_at,
            proxy: proxy_at,
        }
    }

    /// A client that trusts the fake and finds it under `discord.com`.
    pub fn http_client(&self) -> reqwest::Client {
        let root = reqwest::Certificate::from_pem(self.root.as_bytes())
            .expect("the root is a certificate");
        let builder = reqwest::Client::builder()
            .add_root_certificate(root)
            .resolve("discord.com", self.rest)
            .no_proxy();
        builder.build().expect("a client")
    }

    /// The root certificate, for `SSL_CERT_FILE`.
    pub fn root_pem(&self) -> String {
        self.root.clone()
    }

    /// Address of a CONNECT proxy that leads every host to the fake, for `HTTPS_PROXY`.
    pub fn proxy_address(&self) -> String {
        format!("http://{}", self.proxy)
    }

    /// Address of the gateway.
    pub fn gateway_address(&self) -> String {
        self.read(|world| world.gateway.address.clone())
    }

    /// The bot's token, without "Bot ".
    pub fn token(&self) -> String {
        self.read(|world| world.token.clone())
    }

    /// The application's id, which is the bot's user id too.
    pub fn application(&self) -> u64 {
        self.read(|world| world.application)
    }

    /// Changes settings.
    pub fn set(&self, change: impl FnOnce(&mut Settings)) {
        self.shared.with(|world| change(&mut world.settings));
    }

    /// Grants or takes the message content intent in the developer portal.
    pub fn message_content(&self, granted: bool) {
        self.set(|settings| {
            settings.privileged &= !settings::MESSAGE_CONTENT;
            settings.privileged |= if granted {
                settings::MESSAGE_CONTENT
            } else {
                0
            };
        });
    }

    /// Looks at the world.
    pub fn read<T>(&self, look: impl FnOnce(&World) -> T) -> T {
        self.shared.read(look)
    }

    /// Every request so far.
    pub fn requests(&self) -> Vec<Call> {
        self.read(|world| world.calls.clone())
    }

    /// Requests so far with this method (or `*`) and a path that fits.
    pub fn requests_like(&self, method: &str, path: &str) -> Vec<Call> {
        let path = Regex::new(path).expect("a pattern");
        let mut calls = self.requests();
        calls.retain(|call| (method == "*" || call.method == method) && path.is_match(&call.path));
        calls
    }

    /// Lets coming requests fail. `method` may be `*`; the path is the one after `/api/v10`.
    pub fn fail_next(&self, method: &str, path: &str, failure: Failure) {
        let path = Regex::new(path).expect("a pattern");
        self.shared
            .with(|world| world.failures.add(method, path, failure));
    }

    /// How many ordered failures have not happened yet.
    pub fn failures_left(&self) -> usize {
        self.read(|world| world.failures.left())
    }

    /// Forgets ordered failures that have not happened yet.
    pub fn stop_failing(&self) {
        self.shared.with(|world| world.failures.clear());
    }

    /// Switches a rate limit on, counted for each channel, guild or webhook.
    pub fn limit(&self, method: &str, path: &str, count: usize, window: Duration) {
        let path = Regex::new(path).expect("a pattern");
        self.shared
            .with(|world| world.pace.limit(method, path, count, window));
    }

    /// Invalid requests so far, and the most requests ever seen within one second.
    pub fn pace(&self) -> (usize, usize) {
        self.read(|world| (world.pace.invalid(), world.pace.busiest()))
    }

    /// Waits until something holds.
    #[track_caller]
    pub fn wait_until<'a>(
        &'a self,
        what: &'a str,
        holds: impl Fn(&World) -> bool + 'a,
    ) -> impl Future<Output = ()> + 'a {
        self.wait_for(what, move |world| holds(world).then_some(()))
    }

    /// Waits until there is something, and gives it.
    #[track_caller]
    pub fn wait_for<'a, T: 'a>(
        &'a self,
        what: &'a str,
        look: impl Fn(&World) -> Option<T> + 'a,
    ) -> impl Future<Output = T> + 'a {
        let caller = Location::caller();
        async move {
            let mut changed = self.shared.changed.subscribe();
            let search = async {
                loop {
                    if let Some(found) = self.read(&look) {
                        return found;
                    }
                    // What is waited for may also hang on time alone.
                    let _ = tokio::time::timeout(TICK, changed.changed()).await;
                }
            };
            let patience = self.read(|world| world.settings.patience);
            let found = tokio::time::timeout(patience, search).await.ok();
            found.unwrap_or_else(|| {
                let story = self.story();
                panic!("{caller}: waited {patience:?} in vain for {what}\n{story}")
            })
        }
    }

    /// What was against the rules so far, interactions that nobody answered in time among it.
    pub fn breaches(&self) -> Vec<String> {
        self.shared.with(|world| {
            world.note_unanswered();
            world.breaches.clone()
        })
    }

    /// The same, and forgets it: for tests that mean them.
    pub fn take_breaches(&self) -> Vec<String> {
        self.shared
            .with(|world| std::mem::take(&mut world.breaches))
    }

    /// Fails with a list of all breaches if there are any.
    #[track_caller]
    pub fn assert_clean(&self) {
        let breaches = self.take_breaches();
        assert!(
            breaches.is_empty(),
            "{} breaches:\n  {}\n{}",
            breaches.len(),
            breaches.join("\n  "),
            self.story()
        );
    }

    /// The last requests, the gateway and the breaches, for failing tests.
    pub fn story(&self) -> String {
        self.read(|world| {
            let mut told = String::from("last requests:\n");
            for call in world.calls.iter().rev().take(20).rev() {
                let body: String = call.body.to_string().chars().take(160).collect();
                let _ = writeln!(told, "  {} {} {body}", call.status, call.title());
            }
            let happened = world.gateway.happenings.iter().rev().take(12).rev();
            let happened: Vec<_> = happened
                .map(|one| format!("{:?}/{:?}", one.what, one.shard))
                .collect();
            let _ = writeln!(told, "gateway: {}", happened.join(", "));
            let _ = writeln!(told, "breaches: {:#?}", world.breaches);
            told
        })
    }
}

impl Drop for Fake {
    /// Nobody forgets to ask.
    fn drop(&mut self) {
        if !std::thread::panicking() {
            self.assert_clean();
        }
    }
}

async fn bind() -> TcpListener {
    TcpListener::bind("127.0.0.1:0")
        .await
        .expect("a port on loopback")
}

fn address(listener: &TcpListener) -> SocketAddr {
    listener
        .local_addr()
        .expect("a bound socket has an address")
}
