//! `floatbowl replay`: conversations said again, and what comes out otherwise.

use super::Failure;
use super::data::{Data, existing, wait};
use crate::knowledge::Knowledge;
use crate::review::case::Case;
use crate::review::learning;
use crate::review::replay::{Change, Said, changes};
use crate::review::transcript::Past;
use crate::store::Store;
use clap::Args;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(super) struct Replay {
    /// Cases: files, or folders of them. Without any, the conversations of the data folder.
    #[arg(long, value_name = "PATH", num_args = 1..)]
    cases: Vec<PathBuf>,
    /// The conversations of a backup.
    #[arg(long, value_name = "FILE", conflicts_with = "cases")]
    from: Option<PathBuf>,
    #[command(flatten)]
    data: Data,
    /// Fail if anything comes out otherwise.
    #[arg(long)]
    strict: bool,
    /// Write the cases as they come out now; look at the difference before keeping it.
    #[arg(long, requires = "cases")]
    renew: bool,
}

pub(super) fn run(replay: &Replay, folder: Option<&Path>) -> Result<(), Failure> {
    let mut knowledge = super::knowledge(folder)?;
    let (said, changed) = if replay.cases.is_empty() {
        stored(replay, &mut knowledge)?
    } else {
        cases(replay, &knowledge)?
    };
    anstream::println!("{said} said again, {changed} came out otherwise");
    if replay.strict && changed > 0 {
        return Err(Failure::Wrong(
            "If that is what the change was for, renew the cases with --renew and look at the \
             difference."
                .to_owned(),
        ));
    }
    Ok(())
}

fn cases(replay: &Replay, knowledge: &Knowledge) -> Result<(usize, usize), Failure> {
    let files = files(&replay.cases)?;
    let mut changed = 0;
    for file in &files {
        let place = file.display();
        let unusable = |what: String| Failure::Unknown(format!("{place} is no case: {what}"));
        let text = fs::read_to_string(file).map_err(|error| unusable(error.to_string()))?;
        let case = Case::read(&text).map_err(unusable)?;
        let found = case.changes(knowledge);
        tell(&place.to_string(), &found);
        changed += usize::from(!found.is_empty());
        if replay.renew {
            fs::write(file, case.renewed(knowledge).text())?;
        }
    }
    if files.is_empty() {
        return Err(Failure::Unknown(
            "There is no case there; cases are files that end in .json.".to_owned(),
        ));
    }
    Ok((files.len(), changed))
}

/// The files named, and those that end in `.json` in the folders named, by name.
fn files(paths: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            for entry in fs::read_dir(path)? {
                let file = entry?.path();
                if file.extension().is_some_and(|end| end == "json") {
                    files.push(file);
                }
            }
        } else {
            files.push(path.clone());
        }
    }
    files.sort();
    Ok(files)
}

fn stored(replay: &Replay, knowledge: &mut Knowledge) -> Result<(usize, usize), Failure> {
    let store = match &replay.from {
        Some(file) => restored(file)?,
        None => existing(&replay.data.folder())
            .and_then(|()| Ok(Store::open(&replay.data.folder())?))?,
    };
    learning::put_in_force(knowledge, &super::learn::acts(&store)?);
    let (mut said, mut changed) = (0, 0);
    for id in wait(store.all())?? {
        let Some(past) = wait(Past::load(&store, id))?? else {
            continue;
        };
        let was = Said::of(&past);
        let found = changes(&was, &was.again(knowledge));
        tell(&format!("conversation {id}"), &found);
        said += 1;
        changed += usize::from(!found.is_empty());
    }
    Ok((said, changed))
}

/// The conversations of a backup, for as long as they are needed.
fn restored(file: &Path) -> Result<Store, Failure> {
    let unread = |error| {
        let file = file.display();
        Failure::Unknown(format!("cannot read {file}: {error}; give a backup's file"))
    };
    File::open(file).map_err(unread)?;
    let store = Store::in_memory()?;
    let open = || -> std::io::Result<Box<dyn Read>> { Ok(Box::new(File::open(file)?)) };
    wait(store.bring_back(open))??;
    Ok(store)
}

fn tell(place: &str, changes: &[Change]) {
    if !changes.is_empty() {
        anstream::println!("{place}");
    }
    for change in changes {
        anstream::println!("  {change}");
    }
}
