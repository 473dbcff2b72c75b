//! `floatbowl serve` and `floatbowl config`: the channels of one deployment, until told to stop.

use super::{Failure, data, logging};
use crate::channel::counted::Counted;
use crate::channel::discord::{self, Registration, Setting, Shards, Sheet};
use crate::channel::{gauges::Gauges, health};
use crate::config::{self, Commands, Config};
use crate::conversation::event::Terms;
use crate::desk::{Assistant, Desk, Given};
use crate::knowledge::Knowledge;
use crate::reply::wording;
use crate::review::learning;
use crate::store::Store;
use clap::{Args, Subcommand};
use jiff::Timestamp;
use serenity::model::id::GuildId;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tokio_util::sync::CancellationToken;

/// Threads that serve. Turns take milliseconds, so few are enough, and the store has one of its own.
const THREADS: usize = 2;

/// Which deployment.
#[derive(Debug, Args)]
pub(super) struct Serve {
    /// The settings file.
    #[arg(long, value_name = "FILE")]
    config: PathBuf,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Read settings, knowledge and secrets as serving would, and say what is wrong.
    Check {
        /// The settings file.
        #[arg(long, value_name = "FILE")]
        config: PathBuf,
    },
    /// Print a settings file with every setting explained.
    Example,
}

/// The settings file that is printed, and that comes with the deployment.
const EXAMPLE: &str = include_str!("../../deploy/floatbowl.toml");

pub(super) fn config(command: &Command, folder: Option<&Path>) -> Result<(), Failure> {
    match command {
        Command::Example => {
            anstream::print!("{EXAMPLE}");
            Ok(())
        }
        Command::Check { config } => {
            let settings = Config::read(config)?;
            let knowledge = super::knowledge(folder.or(settings.knowledge.as_deref()))?;
            if let Some(discord) = &settings.discord {
                discord.token()?;
            }
            anstream::println!(
                "{}: well. Conversations in {}, knowledge {}, {}.",
                config.display(),
                settings.data.display(),
                knowledge.revision,
                if settings.discord.is_some() {
                    "Discord served"
                } else {
                    "no channel to serve"
                }
            );
            Ok(())
        }
    }
}

pub(super) fn run(serve: &Serve, folder: Option<&Path>) -> Result<(), Failure> {
    let config = Config::read(&serve.config)?;
    logging::start(&config.log);
    let folder = folder.or(config.knowledge.as_deref());
    let mut knowledge = super::knowledge(folder)?;
    let Some(channel) = &config.discord else {
        return Err(Failure::Wrong(
            "There is no channel to serve; add [discord] to the settings.".to_owned(),
        ));
    };
    let token = channel.token()?;
    let store = Store::open(&config.data)?;
    data::wait(store.sweep(Timestamp::now()))??;
    learning::put_in_force(&mut knowledge, &super::learn::acts(&store)?);
    let setting = setting(channel, &token, &config.data, &knowledge);
    let door = super::door::Door::open(&config.data, &store, folder);
    let gauges = Arc::new(Gauges::default());
    let dialogue = Counted {
        dialogue: Assistant(knowledge),
        gauges: Arc::clone(&gauges),
    };
    let desk = Arc::new(Desk::new(store, dialogue, Given::by_system()));
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(THREADS)
        .enable_all()
        .build()?;
    let served = runtime.block_on(all(desk, setting, gauges, config.health.listen));
    drop(door);
    served
}

/// Serves until a signal comes, or a channel ends by itself.
async fn all(
    desk: Arc<Desk<Counted<Assistant>>>,
    setting: Setting,
    gauges: Arc<Gauges>,
    health: Option<std::net::SocketAddr>,
) -> Result<(), Failure> {
    let stop = CancellationToken::new();
    let asked = stop.clone();
    tokio::spawn(async move {
        told_to_stop().await;
        tracing::info!("stopping: finishing what is in hand");
        asked.cancel();
    });
    let watched = async {
        if let Some(at) = health {
            return health::serve(at, Arc::clone(&gauges), stop.clone()).await;
        }
        stop.cancelled().await;
        Ok(())
    };
    let channel = async {
        let served = discord::serve(desk, setting, Arc::clone(&gauges), stop.clone()).await;
        stop.cancel();
        served
    };
    tracing::info!("serving");
    let (served, watched) = tokio::join!(channel, watched);
    served?;
    watched?;
    tracing::info!("stopped");
    Ok(())
}

/// Ends with the first signal to stop.
async fn told_to_stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let Ok(mut terminate) = signal(SignalKind::terminate()) else {
            let _ = tokio::signal::ctrl_c().await;
            return;
        };
        tokio::select! {
            _ = terminate.recv() => {}
            _ = tokio::signal::ctrl_c() => {}
        }
    }
    #[cfg(not(unix))]
    {
        let _ = tokio::signal::ctrl_c().await;
    }
}

/// The channel's own form of the settings.
fn setting(channel: &config::Discord, token: &str, data: &Path, knowledge: &Knowledge) -> Setting {
    let terms = Terms {
        round_trip_minutes: channel.round_trip_minutes,
        knowledge: knowledge.revision.clone(),
        ..Terms::default()
    };
    let config::Shards { first, last, total } = channel.shards;
    Setting {
        message_content: channel.message_content,
        shards: Shards { first, last, total },
        registration: match &channel.commands {
            Commands::Everywhere => Registration::Everywhere,
            Commands::Nowhere => Registration::No,
            Commands::Groups(groups) => {
                Registration::In(groups.iter().copied().map(GuildId::new).collect())
            }
        },
        sheets: sheets(knowledge),
        review_page: channel.review_page.clone(),
        sessions: Some(data.to_owned()),
        ..Setting::new(token, terms)
    }
}

/// The sheets of bikes in the knowledge, in words.
fn sheets(knowledge: &Knowledge) -> BTreeMap<String, Sheet> {
    let sheet = |bike: &crate::knowledge::schema::Bike| {
        let lines = bike
            .spec
            .iter()
            .map(|spec| wording::sheet::line(knowledge, spec));
        let lines: Vec<String> = std::iter::once(bike.name.clone()).chain(lines).collect();
        Sheet {
            words: lines.join("\n"),
            system: bike.system.clone(),
        }
    };
    let bikes = knowledge.bikes.iter();
    bikes.map(|(id, bike)| (id.clone(), sheet(bike))).collect()
}
