//! How long a plan may take: until it is done, nobody waits for it, the daemon stops, or its time is up. And how many at
//! once: of heavy ones one, so that a small machine goes on answering.

use crate::app::App;
use crate::caller::Caller;
use coilwright_proto::error::{ErrorKind, RpcError, code};
use std::sync::{MutexGuard, TryLockError};
use std::time::{Duration, Instant};

/// Longest time for one plan. Rounds are what bounds it; this is for a shelf and a book far beyond a workshop's.
const LONGEST: Duration = Duration::from_secs(30);

/// What a plan asks now and then: whether to go on.
pub struct Patience<'a> {
    app: &'a App,
    caller: &'a Caller,
    until: Instant,
}

impl<'a> Patience<'a> {
    /// From now on.
    pub fn of(app: &'a App, caller: &'a Caller) -> Patience<'a> {
        Patience { app, caller, until: Instant::now() + LONGEST }
    }

    /// Whether to go on.
    pub fn go_on(&self) -> bool {
        !self.app.stopping() && !self.caller.is_gone() && Instant::now() < self.until
    }
}

/// The turn of a heavy plan; given back when it is dropped.
///
/// # Errors
/// 1201 while another has it.
pub fn turn(app: &App) -> Result<MutexGuard<'_, ()>, RpcError> {
    match app.full_plans.try_lock() {
        Ok(turn) => Ok(turn),
        // A plan that failed left nothing behind: the lock guards no data.
        Err(TryLockError::Poisoned(turn)) => Ok(turn.into_inner()),
        Err(TryLockError::WouldBlock) => {
            Err(RpcError::new(code::BUSY, ErrorKind::Failed, "another full plan is being made")
                .next("ask again in a moment, or ask with `proof` quick"))
        }
    }
}
