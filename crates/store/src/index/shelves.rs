//! Ordered bytes by key: in sled, or in memory when sled cannot be had. What they hold can be lost at any time.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::{PoisonError, RwLock};
use std::time::Duration;

/// The shelves failed; why. Whatever they held is to be made anew.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Lost(pub String);

/// Changes that are made together: a value, or `None` to take it away.
pub(super) type Batch = Vec<(Vec<u8>, Option<Vec<u8>>)>;

/// Sees a key and its value; `false` ends the scan.
pub(super) type Each<'a> = &'a mut dyn FnMut(&[u8], &[u8]) -> bool;

pub(super) trait Shelves: Send + Sync {
    fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, Lost>;
    fn apply(&self, batch: Batch) -> Result<(), Lost>;
    /// Keys from `from` on, below `to`, upwards or downwards.
    fn scan(&self, from: &[u8], to: &[u8], down: bool, each: Each<'_>) -> Result<(), Lost>;
    /// Asks for what was applied to be on the disk soon. Never waited for by a group.
    fn flush(&self) -> Result<(), Lost>;
    fn in_memory(&self) -> bool;
}

/// Kept for this run only.
#[derive(Default)]
pub(super) struct Memory(RwLock<BTreeMap<Vec<u8>, Vec<u8>>>);

impl Shelves for Memory {
    fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, Lost> {
        Ok(self.0.read().unwrap_or_else(PoisonError::into_inner).get(key).cloned())
    }

    fn apply(&self, batch: Batch) -> Result<(), Lost> {
        let mut map = self.0.write().unwrap_or_else(PoisonError::into_inner);
        for (key, value) in batch {
            match value {
                Some(value) => drop(map.insert(key, value)),
                None => drop(map.remove(&key)),
            }
        }
        Ok(())
    }

    fn scan(&self, from: &[u8], to: &[u8], down: bool, each: Each<'_>) -> Result<(), Lost> {
        if from >= to {
            return Ok(());
        }
        let map = self.0.read().unwrap_or_else(PoisonError::into_inner);
        let mut range = map.range(from.to_vec()..to.to_vec());
        while let Some((key, value)) = if down { range.next_back() } else { range.next() } {
            if !each(key, value) {
                break;
            }
        }
        Ok(())
    }

    fn flush(&self) -> Result<(), Lost> {
        Ok(())
    }

    fn in_memory(&self) -> bool {
        true
    }
}

const MOST_TRIES: u32 = 100;
const BETWEEN_TRIES: Duration = Duration::from_millis(10);

/// sled 0.34.7: every call may panic, so every call is caught.
pub(super) struct Sled(Option<sled::Db>);

impl Sled {
    pub(super) fn open(dir: &Path) -> Result<Self, Lost> {
        // A kill while sled writes its snapshot leaves this file, and sled does not open beside it.
        if let Ok(items) = std::fs::read_dir(dir) {
            for item in items.flatten() {
                let name = item.file_name();
                let name = name.to_string_lossy();
                if name.starts_with("snap.") && name.ends_with(".generating") {
                    std::fs::remove_file(item.path()).map_err(|e| Lost(format!("deleting {name}: {e}")))?;
                }
            }
        }
        let config =
            sled::Config::new().path(dir).cache_capacity(8 << 20).flush_every_ms(None).mode(sled::Mode::LowSpace);
        // A daemon that was killed just now may still hold sled's own lock for a moment after it has lost the folder's.
        let mut tries = 0;
        loop {
            match caught(|| config.open()) {
                Err(Lost(why)) if why.contains("could not acquire lock") && tries < MOST_TRIES => {
                    tries += 1;
                    std::thread::sleep(BETWEEN_TRIES);
                }
                opened => return opened.map(|db| Self(Some(db))),
            }
        }
    }

    fn db(&self) -> Result<&sled::Db, Lost> {
        self.0.as_ref().ok_or_else(|| Lost("it is closed".to_owned()))
    }
}

fn caught<T>(act: impl FnOnce() -> sled::Result<T>) -> Result<T, Lost> {
    match catch_unwind(AssertUnwindSafe(act)) {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(e)) => Err(Lost(e.to_string())),
        Err(panic) => Err(Lost(format!("sled panicked: {}", crate::writer::panic_text(panic.as_ref())))),
    }
}

impl Shelves for Sled {
    fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, Lost> {
        let db = self.db()?;
        caught(|| db.get(key)).map(|value| value.map(|v| v.to_vec()))
    }

    fn apply(&self, batch: Batch) -> Result<(), Lost> {
        let db = self.db()?;
        let mut changes = sled::Batch::default();
        for (key, value) in batch {
            match value {
                Some(value) => changes.insert(key, value),
                None => changes.remove(key),
            }
        }
        caught(|| db.apply_batch(changes))
    }

    fn scan(&self, from: &[u8], to: &[u8], down: bool, each: Each<'_>) -> Result<(), Lost> {
        if from >= to {
            return Ok(());
        }
        let db = self.db()?;
        caught(|| {
            let mut range = db.range(from..to);
            while let Some(item) = if down { range.next_back() } else { range.next() } {
                let (key, value) = item?;
                if !each(&key, &value) {
                    break;
                }
            }
            Ok(())
        })
    }

    fn flush(&self) -> Result<(), Lost> {
        let db = self.db()?;
        caught(|| db.flush()).map(drop)
    }

    fn in_memory(&self) -> bool {
        false
    }
}

impl Drop for Sled {
    fn drop(&mut self) {
        let db = self.0.take();
        // It flushes on the way out, and may panic at that.
        let _ = catch_unwind(AssertUnwindSafe(move || drop(db)));
    }
}
