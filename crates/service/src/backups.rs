//! The daemon's own backups: to one folder, one at a time, by the clock and at a clean stop.

use crate::app::App;
use coilwright_store::{BackedUp, CareError, Reading, RealDisk, backup};
use jiff::Timestamp;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// How soon the thread notices that the daemon stops.
const GLANCE: Duration = Duration::from_millis(200);
/// The first backup after a start waits so long: a start is busy enough.
const FIRST: Duration = Duration::from_secs(60);

/// Where backups go, and what became of the last one.
pub struct Backups {
    folder: PathBuf,
    every: Duration,
    last: Mutex<Option<Result<BackedUp, String>>>,
}

impl Backups {
    /// Backups to this folder every so many minutes.
    pub fn new(folder: PathBuf, minutes: u32) -> Backups {
        Backups { folder, every: Duration::from_secs(60 * u64::from(minutes.max(1))), last: Mutex::new(None) }
    }

    /// Adds now what the backup does not hold yet.
    ///
    /// # Errors
    /// See [`CareError`].
    pub fn now(&self, from: &dyn Reading) -> Result<BackedUp, CareError> {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let done = backup(&RealDisk, from, &self.folder, Timestamp::now());
        *last = Some(done.as_ref().map(Clone::clone).map_err(ToString::to_string));
        done
    }

    /// Why the last backup failed, if it did.
    pub fn fault(&self) -> Option<String> {
        let last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        last.as_ref().and_then(|done| done.as_ref().err().cloned())
    }
}

/// Starts the thread that makes backups, if a folder for them is set. It ends with the daemon.
pub fn start(app: &Arc<App>) {
    let app = app.clone();
    let started = thread::Builder::new().name("backup".to_owned()).spawn(move || {
        let Some(backups) = &app.backups else { return };
        let mut due = Instant::now() + FIRST.min(backups.every);
        while !app.stopping() {
            if Instant::now() >= due {
                make(&app, backups);
                due = Instant::now() + backups.every;
            }
            thread::sleep(GLANCE);
        }
    });
    if let Err(why) = started {
        tracing::error!(%why, "no thread for backups: only care.backup and a clean stop make them");
    }
}

/// Makes one and says in the log what became of it.
pub fn make(app: &App, backups: &Backups) {
    match backups.now(app.store.reading().as_ref()) {
        Ok(done) => tracing::info!(head = done.head.seq, added = done.added, "backed up"),
        Err(why) => tracing::error!(%why, "the backup failed"),
    }
}
