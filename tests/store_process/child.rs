//! What the other process does.

use crate::fake::{Counting, terms};
use crate::world::{given, message};
use floatbowl::desk::{Answer, Desk};
use floatbowl::store::Store;
use floatbowl::store::name::{Address, Rider};
use std::io::{self, Write};
use std::panic;
use std::path::Path;
use std::process::{self, ExitCode};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::runtime::Runtime;

/// How many riders write at once.
pub const RIDERS: usize = 16;
/// From this one on, riders ask to be forgotten now and then.
const SHY: usize = 12;
/// After how many turns.
const PATIENCE: u32 = 12;

/// Writes one line at once, so that a kill leaves no half of one.
fn report(line: &str) {
    let mut out = io::stdout().lock();
    out.write_all(format!("{line}\n").as_bytes()).unwrap();
    out.flush().unwrap();
}

fn opened(folder: &Path) -> Result<Store, ExitCode> {
    Store::open(folder).map_err(|error| {
        report(&format!("error {error:?}"));
        eprintln!("{error}");
        ExitCode::from(2)
    })
}

/// Opens a folder and keeps it open until standard input is closed.
pub fn hold(folder: &Path) -> ExitCode {
    match opened(folder) {
        Ok(_store) => {
            report("open");
            io::copy(&mut io::stdin(), &mut io::sink()).unwrap();
            ExitCode::SUCCESS
        }
        Err(code) => code,
    }
}

/// Riders who write without end, each turn reported after it was acknowledged. Ends only by being
/// killed, or with the first failure of the store.
pub fn talk(folder: &Path, first_id: u64) -> ExitCode {
    end_with_a_panic();
    let store = match opened(folder) {
        Ok(store) => store,
        Err(code) => return code,
    };
    let desk = Arc::new(Desk::new(store, Counting, given(first_id)));
    let failed = Arc::new(AtomicBool::new(false));
    Runtime::new().unwrap().block_on(async {
        let riders = (0..RIDERS).map(|rider| {
            let (desk, failed) = (Arc::clone(&desk), Arc::clone(&failed));
            tokio::spawn(async move {
                while !failed.load(Ordering::SeqCst) {
                    if let Err(error) = one_turn(&desk, rider).await {
                        report(&format!("error {error:?}"));
                        failed.store(true, Ordering::SeqCst);
                    }
                }
            })
        });
        for rider in riders.collect::<Vec<_>>() {
            rider.await.unwrap();
        }
    });
    ExitCode::from(2)
}

/// Makes a panic in any thread the end of the process, which whoever kills it will see.
fn end_with_a_panic() {
    let print = panic::take_hook();
    panic::set_hook(Box::new(move |what| {
        print(what);
        process::exit(101);
    }));
}

/// The last message once more, as a channel does after a gap, then the next one.
async fn one_turn(
    desk: &Desk<Counting>,
    rider: usize,
) -> Result<(), floatbowl::store::problem::StoreError> {
    let address = format!("rider {rider}");
    let standing = desk.standing(&Address::new(&address)).await?;
    let turn = standing.as_ref().map_or(0, |standing| standing.turn);
    if let Some(standing) = standing.filter(|_| rider >= SHY && turn >= PATIENCE) {
        report(&format!("forgetting {} {turn}", standing.conversation));
        desk.forget(Rider::new(&address)).await?;
        report(&format!("forgot {} {turn}", standing.conversation));
        return Ok(());
    }
    // Where a conversation is begun anew, numbers would come again.
    let id = |turn: u32| (rider < SHY).then(|| format!("m/{rider}/{turn}"));
    if rider < SHY && turn > 0 {
        let again = message(&address, id(turn).as_deref(), "again");
        let again = desk.take(again, &terms()).await?;
        assert!(matches!(again, Answer::Repeat(_)), "{again:?} taken twice");
    }
    let next = message(&address, id(turn + 1).as_deref(), "next");
    let Answer::New(answers) = desk.take(next, &terms()).await? else {
        panic!("turn {} was taken before it was sent", turn + 1);
    };
    for answer in answers {
        report(&format!("said {} {}", answer.conversation, answer.turn));
        desk.sent(&answer).await?;
        report(&format!("sent {} {}", answer.conversation, answer.turn));
    }
    Ok(())
}
