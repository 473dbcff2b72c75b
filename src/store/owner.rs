//! The one thread that owns the ledger, and the line of work before it.

use super::ledger::Ledger;
use super::problem::StoreError;
use std::panic::{self, AssertUnwindSafe};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::{self, JoinHandle};
use tokio::sync::oneshot;

/// Hands out a result, or the failure of the sync that should have made it durable.
type Release = Box<dyn FnOnce(Option<&StoreError>) + Send>;

/// Works on the ledger, and keeps its result back until it is released.
type Work = Box<dyn FnOnce(&mut Ledger) -> Release + Send>;

struct Job {
    writes: bool,
    work: Work,
}

/// The thread and the way to it. Dropped, it finishes what waits, closes the ledger, and is gone.
pub struct Owner {
    jobs: Option<Sender<Job>>,
    thread: Option<JoinHandle<()>>,
}

impl Owner {
    /// Starts the thread and makes the ledger on it.
    pub fn start<F>(make: F) -> Result<Self, StoreError>
    where
        F: FnOnce() -> Result<Ledger, StoreError> + Send + 'static,
    {
        let (jobs, line) = channel();
        let (opened, opening) = channel();
        let thread = thread::Builder::new()
            .name("store".to_owned())
            .spawn(move || match make() {
                Ok(mut ledger) => {
                    // Whoever waits for this has gone only if the thread could not be used at all.
                    let _ = opened.send(Ok(()));
                    serve(&line, &mut ledger);
                }
                Err(error) => {
                    let _ = opened.send(Err(error));
                }
            })
            .map_err(|_| StoreError::Stopped)?;
        opening.recv().unwrap_or(Err(StoreError::Stopped))?;
        Ok(Self {
            jobs: Some(jobs),
            thread: Some(thread),
        })
    }

    /// Work that changes nothing.
    pub async fn read<T, F>(&self, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&Ledger) -> Result<T, StoreError> + Send + 'static,
    {
        self.ask(false, move |ledger| guarded(|| work(ledger)))
            .await
    }

    /// Work whose changes are durable when this returns.
    pub async fn write<T, F>(&self, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&mut Ledger) -> Result<T, StoreError> + Send + 'static,
    {
        self.ask(true, work).await
    }

    async fn ask<T, F>(&self, writes: bool, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&mut Ledger) -> Result<T, StoreError> + Send + 'static,
    {
        let (answer, answered) = oneshot::channel();
        let work = move |ledger: &mut Ledger| -> Release {
            let result = work(ledger);
            if let Err(StoreError::Damaged { .. }) = result {
                ledger.engine().doubt();
            }
            Box::new(move |failure| {
                let result = failure.map_or(result, |failure| Err(failure.clone()));
                // Nobody waits any more: the asker was cancelled, the work is done all the same.
                let _ = answer.send(result);
            })
        };
        let job = Job {
            writes,
            work: Box::new(work),
        };
        let jobs = self.jobs.as_ref().ok_or(StoreError::Stopped)?;
        jobs.send(job).map_err(|_| StoreError::Stopped)?;
        answered.await.unwrap_or(Err(StoreError::Stopped))
    }
}

/// Takes a panic for the damage it comes from: the database panics over some kinds of it. Reading leaves
/// nothing half done, so what else there is can still be read.
fn guarded<T>(work: impl FnOnce() -> Result<T, StoreError>) -> Result<T, StoreError> {
    let done = panic::catch_unwind(AssertUnwindSafe(work));
    done.unwrap_or_else(|_| {
        Err(StoreError::Damaged {
            place: "the database".to_owned(),
            what: "it cannot make sense of what it holds there".to_owned(),
        })
    })
}

impl Drop for Owner {
    fn drop(&mut self) {
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            // A panic of the engine has been answered with `Stopped` already.
            let _ = thread.join();
        }
    }
}

/// Does what waits, round by round: all work, one sync, then all answers.
fn serve(line: &Receiver<Job>, ledger: &mut Ledger) {
    while let Ok(first) = line.recv() {
        let round: Vec<Job> = std::iter::once(first).chain(line.try_iter()).collect();
        let writes = round.iter().any(|job| job.writes);
        let releases: Vec<Release> = round.into_iter().map(|job| (job.work)(ledger)).collect();
        let failure = if writes { ledger.sync().err() } else { None };
        for release in releases {
            release(failure.as_ref());
        }
        if failure.is_some() {
            return;
        }
    }
}
