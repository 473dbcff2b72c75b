//! What a group allows: how long conversations are kept, reminders, and who may read without consent.

use super::engine::{Batch, Op, Tree};
use super::ledger::Ledger;
use super::name::Group;
use super::problem::StoreError;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Days a conversation is kept after its last turn, unless the group says otherwise.
pub const RETENTION_DAYS: u16 = 180;

/// Which conversations volunteers may read without the rider's consent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Openness {
    /// None.
    Nothing,
    /// Those a person has taken over, since somebody must read them to help.
    HandedOver,
    /// All, as in a group where everything is public anyway.
    Everything,
}

/// What a group allows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// Days a conversation is kept after its last turn.
    pub retention_days: u16,
    /// Whether a silent rider is reminded once.
    pub nudge: bool,
    /// What volunteers may read without the rider's consent.
    pub open: Openness,
    /// What the channel itself keeps for the group, in its own words.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub channel: BTreeMap<String, String>,
}

impl Default for Setting {
    fn default() -> Self {
        Self {
            retention_days: RETENTION_DAYS,
            nudge: true,
            open: Openness::HandedOver,
            channel: BTreeMap::new(),
        }
    }
}

fn key(ledger: &Ledger, group: &Group) -> Vec<u8> {
    [b"group/".as_slice(), &ledger.group(group)].concat()
}

/// What a group allows; the defaults if it never said.
pub(super) fn get(ledger: &Ledger, group: &Group) -> Result<Setting, StoreError> {
    match ledger.engine().get(Tree::Meta, &key(ledger, group))? {
        Some(bytes) => read(&bytes),
        None => Ok(Setting::default()),
    }
}

/// The shortest time that any group keeps conversations.
pub(super) fn shortest(ledger: &Ledger) -> Result<u16, StoreError> {
    let mut days = RETENTION_DAYS;
    ledger
        .engine()
        .scan(Tree::Meta, b"group/", &mut |_, value| {
            days = days.min(read(value)?.retention_days);
            Ok(())
        })?;
    Ok(days)
}

/// Sets what a group allows.
pub(super) fn set(ledger: &mut Ledger, group: &Group, setting: &Setting) -> Result<(), StoreError> {
    let value = serde_json::to_vec(setting).expect("a setting has a stored form");
    let op = Op::Put(Tree::Meta, key(ledger, group), value);
    ledger.apply(&Batch(vec![op])).map(drop)
}

fn read(bytes: &[u8]) -> Result<Setting, StoreError> {
    serde_json::from_slice(bytes).map_err(|error| StoreError::Damaged {
        place: "the setting of a group".to_owned(),
        what: error.to_string(),
    })
}
