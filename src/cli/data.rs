//! Which data folder a command works on, and how it waits for the store.

use super::Failure;
use clap::Args;
use std::path::{Path, PathBuf};
use tokio::runtime;

/// The data folder, as given on the command line.
#[derive(Debug, Clone, Args)]
pub(super) struct Data {
    /// Folder where conversations are kept.
    #[arg(long = "data", value_name = "DIR")]
    folder: Option<PathBuf>,
}

impl Data {
    /// The folder, or the one that is used unless told otherwise.
    pub(super) fn folder(&self) -> PathBuf {
        self.folder.clone().unwrap_or_else(default_folder)
    }
}

/// Sees to it that a folder to be read from is there; opening it would make it.
pub(super) fn existing(folder: &Path) -> Result<(), Failure> {
    if folder.exists() {
        return Ok(());
    }
    Err(Failure::Unknown(format!(
        "There is no folder {}; name the one with the conversations with --data.",
        folder.display()
    )))
}

/// Where conversations are kept unless told otherwise.
pub(super) fn default_folder() -> PathBuf {
    let home = |name: &str| {
        std::env::var_os(name)
            .map(PathBuf::from)
            .filter(|path| path.is_absolute())
    };
    home("XDG_DATA_HOME")
        .or_else(|| home("HOME").map(|home| home.join(".local/share")))
        .unwrap_or_else(|| PathBuf::from("."))
        .join("floatbowl")
}

/// Waits for the store on this thread.
pub(super) fn wait<T>(work: impl Future<Output = T>) -> Result<T, Failure> {
    let runtime = runtime::Builder::new_current_thread().build()?;
    Ok(runtime.block_on(work))
}
