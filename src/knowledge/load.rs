//! Where knowledge files come from: the copy inside the program, or a folder.

use super::library::Source;
use include_dir::{Dir, include_dir};
use std::path::{Path, PathBuf};

static EMBEDDED: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/knowledge");

/// Why a knowledge folder could not be read.
#[derive(Debug, thiserror::Error)]
pub enum LoadError {
    /// The folder or a file in it cannot be read.
    #[error("cannot read {path}: {reason}; give a folder of .toml files to --knowledge", path = path.display())]
    Unreadable {
        /// Which file or folder.
        path: PathBuf,
        /// What the system said.
        reason: std::io::Error,
    },
    /// There is no knowledge file in it.
    #[error("{path} holds no .toml file; give the folder that holds systems.toml to --knowledge", path = .0.display())]
    Empty(PathBuf),
}

/// The files built into the program.
#[must_use]
pub fn embedded() -> Vec<Source> {
    let mut sources = Vec::new();
    collect(&EMBEDDED, &mut sources);
    sources
}

fn collect(dir: &Dir<'_>, sources: &mut Vec<Source>) {
    for file in dir.files() {
        let path = file.path();
        if let (true, Some(text)) = (is_knowledge(path), file.contents_utf8()) {
            sources.push(Source {
                path: slashed(path),
                text: text.to_owned(),
            });
        }
    }
    dir.dirs().for_each(|dir| collect(dir, sources));
}

/// The files of a folder, its sub-folders included.
///
/// # Errors
/// When the folder or a file cannot be read, or there is none.
pub fn folder(root: &Path) -> Result<Vec<Source>, LoadError> {
    let mut sources = Vec::new();
    walk(root, root, &mut sources)?;
    if sources.is_empty() {
        return Err(LoadError::Empty(root.to_owned()));
    }
    Ok(sources)
}

fn walk(root: &Path, dir: &Path, sources: &mut Vec<Source>) -> Result<(), LoadError> {
    let unreadable = |path: &Path| {
        let path = path.to_owned();
        move |reason| LoadError::Unreadable { path, reason }
    };
    for entry in std::fs::read_dir(dir).map_err(unreadable(dir))? {
        let path = entry.map_err(unreadable(dir))?.path();
        if path.is_dir() {
            walk(root, &path, sources)?;
        } else if is_knowledge(&path) {
            sources.push(Source {
                text: std::fs::read_to_string(&path).map_err(unreadable(&path))?,
                path: slashed(path.strip_prefix(root).unwrap_or(&path)),
            });
        }
    }
    Ok(())
}

fn is_knowledge(path: &Path) -> bool {
    path.extension()
        .is_some_and(|extension| extension == "toml" || extension == "tsv")
}

fn slashed(path: &Path) -> String {
    path.to_string_lossy().replace('\\', "/")
}
