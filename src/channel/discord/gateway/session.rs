//! A gateway session: what is needed to resume it, kept in a file so that a restart resumes too.

use serde::{Deserialize, Serialize};
use std::io;
use std::path::{Path, PathBuf};

/// A session that can be resumed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Session {
    /// Its id.
    pub id: String,
    /// The number of the last event that was passed on.
    pub seq: u64,
    /// Where to resume it.
    pub resume_url: String,
}

/// Where the session of one shard is kept between two runs; nowhere, if no folder is given.
#[derive(Debug, Clone)]
pub struct Shelf {
    path: Option<PathBuf>,
}

impl Shelf {
    /// The shelf of a shard. Shards of another division are other shards.
    #[must_use]
    pub fn new(folder: Option<&Path>, shard: [u32; 2]) -> Self {
        let [number, total] = shard;
        let name = format!("gateway-{number}-of-{total}.json");
        Self {
            path: folder.map(|folder| folder.join(name)),
        }
    }

    /// The session kept. One that cannot be read is as none: a new one is asked for.
    #[must_use]
    pub fn take(&self) -> Option<Session> {
        let text = std::fs::read_to_string(self.path.as_ref()?).ok()?;
        serde_json::from_str(&text).ok()
    }

    /// Keeps a session, or that there is none.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn keep(&self, session: Option<&Session>) -> io::Result<()> {
        let Some(path) = &self.path else {
            return Ok(());
        };
        let Some(session) = session else {
            return match std::fs::remove_file(path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            };
        };
        // Renamed into place: a crash leaves the old one or the new one.
        let fresh = path.with_extension("new");
        std::fs::write(&fresh, serde_json::to_vec(session)?)?;
        std::fs::rename(fresh, path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_taken_again() {
        let folder = tempfile::tempdir().expect("a folder");
        let shelf = Shelf::new(Some(folder.path()), [1, 4]);
        assert_eq!(shelf.take(), None);
        let session = Session {
            id: "a".to_owned(),
            seq: 7,
            resume_url: "wss://gateway.invalid".to_owned(),
        };
        shelf.keep(Some(&session)).expect("kept");
        assert_eq!(shelf.take(), Some(session));
        assert_eq!(Shelf::new(Some(folder.path()), [1, 5]).take(), None);
        shelf.keep(None).expect("gone");
        shelf.keep(None).expect("gone twice");
        assert_eq!(shelf.take(), None);
    }

    #[test]
    fn a_spoilt_file_is_as_none() {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("gateway-0-of-1.json"), "{").expect("written");
        assert_eq!(Shelf::new(Some(folder.path()), [0, 1]).take(), None);
    }
}
