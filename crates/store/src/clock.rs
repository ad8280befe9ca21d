//! Where the writer gets the time of an entry from.

use jiff::Timestamp;
use std::time::Instant;

/// A wall clock that may jump and a counter that does not.
pub trait Clock: Send + 'static {
    /// Wall clock, UTC.
    fn now(&self) -> Timestamp;
    /// Milliseconds since this run began; never goes back.
    fn mono_ms(&self) -> u64;
    /// Which run [`Clock::mono_ms`] counts in.
    fn boot(&self) -> &str;
}

/// The machine's own clock. Each one made is a run of its own.
#[derive(Debug)]
pub struct SystemClock {
    began: Instant,
    boot: String,
}

impl SystemClock {
    /// A clock whose run begins now.
    ///
    /// # Errors
    ///
    /// If the system gives no random bytes for the name of the run.
    pub fn start() -> std::io::Result<Self> {
        let mut bytes = [0u8; 8];
        getrandom::fill(&mut bytes).map_err(std::io::Error::other)?;
        Ok(Self { began: Instant::now(), boot: crate::journal::hex(&bytes) })
    }
}

impl Clock for SystemClock {
    fn now(&self) -> Timestamp {
        // Whole milliseconds: more would pretend to an order that only the sequence gives.
        let now = Timestamp::now();
        Timestamp::from_millisecond(now.as_millisecond()).unwrap_or(now)
    }

    fn mono_ms(&self) -> u64 {
        u64::try_from(self.began.elapsed().as_millis()).unwrap_or(u64::MAX)
    }

    fn boot(&self) -> &str {
        &self.boot
    }
}
