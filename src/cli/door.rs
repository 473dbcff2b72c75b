//! Commands over a data folder, also while another floatbowl has it open.
//!
//! Only one process can have the folder open. It keeps a door in it, a socket that nobody else may
//! use; a command that finds the folder in use hands its own arguments in there, and prints what
//! comes back. So every such command is written once, over an open store.

use super::data::existing;
use super::{Arguments, Command, Failure};
use crate::knowledge::Knowledge;
use crate::store::{Store, StoreError};
use clap::Parser;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// A command over an open store.
pub(super) trait OverStore {
    /// The data folder.
    fn folder(&self) -> PathBuf;

    /// Does it; what is to be printed goes to `out`.
    fn perform(&self, world: &World<'_>, out: &mut dyn Write) -> Result<(), Failure>;
}

/// What a command works with.
pub(super) struct World<'a> {
    /// The open store.
    pub(super) store: &'a Store,
    /// The knowledge, as shipped.
    pub(super) knowledge: &'a Knowledge,
}

/// Does a command here, or through the door of whoever has the folder open, and prints it.
pub(super) fn through(command: &dyn OverStore, folder: Option<&Path>) -> Result<(), Failure> {
    perform(command, folder, &mut io::stdout().lock())
}

/// As [`through`], to somewhere else.
pub(super) fn perform(
    command: &dyn OverStore,
    knowledge: Option<&Path>,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let data = command.folder();
    existing(&data)?;
    match Store::open(&data) {
        Ok(store) => here(command, &store, knowledge, out),
        Err(error @ StoreError::Locked { .. }) => match socket::hand_in(&data, out) {
            Some(result) => result,
            None => Err(error.into()),
        },
        Err(error) => Err(error.into()),
    }
}

fn here(
    command: &dyn OverStore,
    store: &Store,
    knowledge: Option<&Path>,
    out: &mut dyn Write,
) -> Result<(), Failure> {
    let knowledge = super::knowledge(knowledge)?;
    let world = World {
        store,
        knowledge: &knowledge,
    };
    command.perform(&world, out)
}

/// The command in some arguments, if it is one that works over an open store.
fn over_store(arguments: Arguments) -> Option<Box<dyn OverStore>> {
    match arguments.command? {
        Command::Transcript(command) => Some(Box::new(command)),
        Command::Learn(command) => Some(Box::new(command)),
        Command::Group(command) => Some(Box::new(command)),
        Command::Backup(backup) => Some(Box::new(backup)),
        Command::Store(command) => Some(Box::new(command)),
        _ => None,
    }
}

/// Does what the arguments say over an open store; the answer is `+` and what is to be printed, or
/// `-` and what went wrong.
fn answer(words: &[u8], store: &Store, knowledge: Option<&Path>) -> Vec<u8> {
    let mut out = vec![b'+'];
    let words: Result<Vec<String>, _> = serde_json::from_slice(words);
    let command = words
        .ok()
        .and_then(|words| Arguments::try_parse_from(words).ok())
        .and_then(over_store);
    let result = match command {
        Some(command) => here(&*command, store, knowledge, &mut out),
        None => Err(Failure::Unknown(
            "the floatbowl that has the folder open does not know this command; is it older?"
                .to_owned(),
        )),
    };
    match result {
        Ok(()) => out,
        Err(failure) => format!("-{failure}").into_bytes(),
    }
}

pub(super) use socket::Door;

#[cfg(unix)]
mod socket {
    use super::{Failure, Store, answer};
    use std::fs;
    use std::io::{self, BufRead, BufReader, Read, Write};
    use std::os::unix::net::{UnixListener, UnixStream};
    use std::path::{Path, PathBuf};
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, Ordering};
    use std::thread::{self, JoinHandle};

    /// The open door of a data folder, until it is dropped.
    pub struct Door {
        path: PathBuf,
        closing: Arc<AtomicBool>,
        keeper: Option<JoinHandle<()>>,
    }

    fn path(data: &Path) -> PathBuf {
        data.join("door")
    }

    impl Door {
        /// Opens the door of a folder whose lock is held. Without one, commands from outside are
        /// refused, and nothing else is lost.
        pub fn open(data: &Path, store: &Store, knowledge: Option<&Path>) -> Option<Self> {
            let path = path(data);
            // Left by a floatbowl that was killed; the lock says that it is gone.
            let _ = fs::remove_file(&path);
            let listener = UnixListener::bind(&path)
                .inspect_err(|error| tracing::warn!(%error, "there is no door for commands"))
                .ok()?;
            let closing = Arc::new(AtomicBool::new(false));
            let (store, ending) = (store.clone(), Arc::clone(&closing));
            let knowledge = knowledge.map(Path::to_owned);
            let keeper = thread::spawn(move || {
                for caller in listener.incoming() {
                    if ending.load(Ordering::SeqCst) {
                        return;
                    }
                    let served =
                        caller.and_then(|caller| serve(&caller, &store, knowledge.as_deref()));
                    if let Err(error) = served {
                        tracing::warn!(%error, "a command at the door had no answer");
                    }
                }
            });
            Some(Self {
                path,
                closing,
                keeper: Some(keeper),
            })
        }
    }

    impl Drop for Door {
        fn drop(&mut self) {
            self.closing.store(true, Ordering::SeqCst);
            // The keeper waits for a caller: this is the last one.
            if UnixStream::connect(&self.path).is_ok()
                && let Some(keeper) = self.keeper.take()
            {
                let _ = keeper.join();
            }
            let _ = fs::remove_file(&self.path);
        }
    }

    fn serve(mut caller: &UnixStream, store: &Store, knowledge: Option<&Path>) -> io::Result<()> {
        let mut words = Vec::new();
        BufReader::new(caller).read_until(b'\n', &mut words)?;
        caller.write_all(&answer(&words, store, knowledge))
    }

    /// Hands this process's arguments in at the door; none if there is no door.
    pub fn hand_in(data: &Path, out: &mut dyn Write) -> Option<Result<(), Failure>> {
        let door = UnixStream::connect(path(data)).ok()?;
        Some(ask(door, out))
    }

    fn ask(mut door: UnixStream, out: &mut dyn Write) -> Result<(), Failure> {
        let words: Vec<String> = std::env::args().collect();
        let mut words = serde_json::to_vec(&words).map_err(io::Error::from)?;
        words.push(b'\n');
        door.write_all(&words)?;
        let mut sign = [0];
        door.read_exact(&mut sign)?;
        if sign == *b"+" {
            io::copy(&mut door, out)?;
            return Ok(());
        }
        let mut text = String::new();
        door.read_to_string(&mut text)?;
        Err(Failure::Wrong(text))
    }
}

#[cfg(not(unix))]
mod socket {
    use super::{Failure, Store};
    use std::io::Write;
    use std::path::Path;

    /// There are no doors on this system.
    pub struct Door;

    impl Door {
        /// No door.
        pub fn open(_: &Path, _: &Store, _: Option<&Path>) -> Option<Self> {
            None
        }
    }

    /// There is no door to hand anything in at.
    pub fn hand_in(_: &Path, _: &mut dyn Write) -> Option<Result<(), Failure>> {
        None
    }
}
