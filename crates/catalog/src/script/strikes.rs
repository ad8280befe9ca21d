//! A script that goes along with requests and takes too much three times running is switched off until plugins are read anew.

use std::sync::atomic::{AtomicU32, Ordering};

/// After so many calls running that took too much, a script is not called any more.
pub(crate) const MOST: u32 = 3;

/// How many calls running took too much.
#[derive(Debug, Default)]
pub(crate) struct Strikes(AtomicU32);

impl Strikes {
    pub(crate) fn took_too_much(&self) {
        self.0.fetch_add(1, Ordering::Relaxed);
    }
    /// A call that kept within its bounds; what is switched off is not called and so stays off.
    pub(crate) fn kept_within(&self) {
        self.0.store(0, Ordering::Relaxed);
    }
    pub(crate) fn out(&self) -> bool {
        self.0.load(Ordering::Relaxed) >= MOST
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_calls_running_count() {
        let strikes = Strikes::default();
        for _ in 1..MOST {
            strikes.took_too_much();
        }
        assert!(!strikes.out());
        strikes.kept_within();
        strikes.took_too_much();
        assert!(!strikes.out());
        for _ in 1..MOST {
            strikes.took_too_much();
        }
        assert!(strikes.out());
    }
}
