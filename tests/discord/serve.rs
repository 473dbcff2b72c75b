//! The program itself: started with a settings file, driven through a proxy, stopped by a signal.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::{ExitStatus, Stdio};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::process::{Child, Command};
use tokio::time::timeout;

use crate::stage::{GUILD, Stage};

/// Words that must never be found in a log.
const SENTINEL: &str = "quince-marmalade";

/// A deployment in a folder.
struct Deployment {
    folder: tempfile::TempDir,
    health: u16,
    child: Child,
}

impl Deployment {
    async fn start(stage: &Stage) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        fs::write(at("token"), stage.fake.token()).expect("written");
        fs::set_permissions(at("token"), fs::Permissions::from_mode(0o600)).expect("set");
        fs::write(at("root.pem"), stage.fake.root_pem()).expect("written");
        let health = free_port().await;
        let settings = format!(
            "data = \"{}\"\n[health]\nlisten = \"127.0.0.1:{health}\"\n[log]\nlevel = \"debug\"\n\
             [discord]\ntoken_file = \"{}\"\nmessage_content = true\n",
            at("data").display(),
            at("token").display(),
        );
        fs::write(at("floatbowl.toml"), settings).expect("written");
        let child = run(stage, folder.path());
        Self {
            folder,
            health,
            child,
        }
    }

    /// Stops it by the signal a service manager sends, and waits.
    async fn stop(&mut self) -> ExitStatus {
        let id = self.child.id().expect("it runs").to_string();
        let killed = Command::new("kill").args(["-TERM", &id]).status().await;
        assert!(killed.expect("a signal").success());
        let ended = timeout(Duration::from_secs(30), self.child.wait()).await;
        ended.expect("it stops").expect("a status")
    }

    fn log(&self) -> String {
        fs::read_to_string(self.folder.path().join("log")).expect("a log")
    }

    async fn ask(&self, path: &str) -> String {
        let mut stream = TcpStream::connect(("127.0.0.1", self.health))
            .await
            .expect("it listens");
        let request =
            format!("GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
        stream.write_all(request.as_bytes()).await.expect("written");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).await.expect("an answer");
        answer
    }
}

fn run(stage: &Stage, folder: &Path) -> Child {
    let log = fs::OpenOptions::new()
        .create(true)
        .append(true)
        .open(folder.join("log"))
        .expect("a log");
    Command::new(env!("CARGO_BIN_EXE_floatbowl"))
        .arg("serve")
        .arg("--config")
        .arg(folder.join("floatbowl.toml"))
        .env("HTTPS_PROXY", stage.fake.proxy_address())
        .env("SSL_CERT_FILE", folder.join("root.pem"))
        .env_remove("NO_PROXY")
        .env_remove("no_proxy")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(log)
        .kill_on_drop(true)
        .spawn()
        .expect("it starts")
}

async fn free_port() -> u16 {
    let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
    listener.local_addr().expect("an address").port()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_program_serves_counts_logs_nothing_said_and_stops() {
    let stage = Stage::set().await;
    stage
        .fake
        .set(|settings| settings.patience = Duration::from_secs(30));
    let mut deployment = Deployment::start(&stage).await;
    stage.fake.wait_for_shards(1).await;
    let commands = |world: &crate::fake::world::World| !world.registered(None).is_empty();
    stage.fake.wait_until("commands", commands).await;
    let thread = stage
        .begun(&format!("it cranks but will not start {SENTINEL}"))
        .await;
    stage
        .say(thread, &format!("nothing changed, {SENTINEL}"))
        .await;
    // Odd events must not be printed either.
    let odd = serde_json::json!({"id": {}, "content": SENTINEL});
    stage.fake.emit("MESSAGE_CREATE", Some(GUILD), odd);
    stage.say(thread, &format!("{SENTINEL} why?")).await;
    assert!(deployment.ask("/health").await.contains("200 OK"));
    // A reply has left the outbox a moment after it is seen.
    let sent = tokio::time::timeout(Duration::from_secs(10), async {
        while !deployment
            .ask("/metrics")
            .await
            .contains("floatbowl_outbox_waiting 0")
        {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    });
    sent.await.expect("an empty outbox");
    let counts = deployment.ask("/metrics").await;
    for count in [
        "floatbowl_turns_total 3",
        "floatbowl_unreadable_total 1",
        "floatbowl_gateway_up{shard=\"0\"} 1",
    ] {
        assert!(counts.contains(count), "{count} in {counts}");
    }
    assert!(deployment.stop().await.success(), "{}", deployment.log());
    let log = deployment.log();
    assert!(!log.contains(SENTINEL), "{log}");
    assert!(!log.contains(&stage.fake.token()), "{log}");
    assert!(
        log.contains("\"level\":\"INFO\"") && log.contains("stopped"),
        "{log}"
    );
    // Started again, it goes on where it was: same session, same conversation.
    let said = stage.count(thread);
    stage
        .fake
        .say(thread, stage.rider, "what do you know so far?");
    deployment.child = run(&stage, deployment.folder.path());
    stage.answers(thread, said + 1).await;
    assert_eq!(stage.fake.identifies(), 1, "the session was resumed");
    assert!(deployment.stop().await.success());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_token_that_is_refused_is_said_with_its_remedy() {
    let stage = Stage::set().await;
    let mut deployment = Deployment::start(&stage).await;
    let path = deployment.folder.path().to_owned();
    deployment.child.kill().await.expect("killed");
    fs::write(path.join("token"), "not-the-token").expect("written");
    deployment.child = run(&stage, &path);
    let ended = timeout(Duration::from_secs(30), deployment.child.wait()).await;
    assert!(!ended.expect("it ends").expect("a status").success());
    assert!(
        deployment.log().contains("copy it anew"),
        "{}",
        deployment.log()
    );
    stage.fake.take_breaches();
}
