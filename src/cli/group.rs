//! `floatbowl group`: what a group allows, for its moderators.

use super::Failure;
use super::data::{Data, wait};
use super::door::{OverStore, World};
use crate::store::name::Group;
use crate::store::setting::{Openness, Setting};
use clap::{Subcommand, ValueEnum};
use std::io::Write;
use std::path::PathBuf;

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Print what a group allows.
    Show {
        /// The group, for example terminal.
        group: String,
        #[command(flatten)]
        data: Data,
    },
    /// Change what a group allows; what is not named stays.
    Set {
        /// The group, for example terminal.
        group: String,
        /// Days a conversation is kept after its last turn.
        #[arg(long, value_parser = clap::value_parser!(u16).range(1..))]
        retention_days: Option<u16>,
        /// Whether a silent rider is reminded once.
        #[arg(long, action = clap::ArgAction::Set)]
        nudge: Option<bool>,
        /// What volunteers may read without the rider's consent.
        #[arg(long)]
        open: Option<Open>,
        #[command(flatten)]
        data: Data,
    },
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum Open {
    /// Nothing.
    Nothing,
    /// What a person has taken over.
    HandedOver,
    /// Everything.
    Everything,
}

impl OverStore for Command {
    fn folder(&self) -> PathBuf {
        match self {
            Self::Show { data, .. } | Self::Set { data, .. } => data.folder(),
        }
    }

    fn perform(&self, world: &World<'_>, out: &mut dyn Write) -> Result<(), Failure> {
        let (Self::Show { group, .. } | Self::Set { group, .. }) = self;
        let name = Group::new(group);
        let mut setting = wait(world.store.setting(name.clone()))??;
        if let Self::Set {
            retention_days,
            nudge,
            open,
            ..
        } = self
        {
            setting = Setting {
                retention_days: retention_days.unwrap_or(setting.retention_days),
                nudge: nudge.unwrap_or(setting.nudge),
                open: open.map_or(setting.open, openness),
                ..setting
            };
            wait(world.store.set(name, setting.clone()))??;
        }
        let text = serde_json::to_string(&setting).map_err(std::io::Error::from)?;
        writeln!(out, "{group}: {text}")?;
        Ok(())
    }
}

fn openness(open: Open) -> Openness {
    match open {
        Open::Nothing => Openness::Nothing,
        Open::HandedOver => Openness::HandedOver,
        Open::Everything => Openness::Everything,
    }
}
