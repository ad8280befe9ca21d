//! The data folder, locked by the one process that may write in it.

use super::error::OpenError;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::{Path, PathBuf};

/// A locked data folder. The lock goes when this does, or with the process.
#[derive(Debug)]
pub struct Folder {
    dir: PathBuf,
    lock: File,
}

impl Drop for Folder {
    fn drop(&mut self) {
        // Said aloud, not left to closing: a process just being started may hold a copy of the file for a moment.
        let _ = self.lock.unlock();
    }
}

impl Folder {
    /// Makes the folder if it is not there and locks it.
    ///
    /// # Errors
    ///
    /// [`OpenError::NotAShop`] if it holds other things and no journal; [`OpenError::InUse`] if another process has it, [`OpenError::NoPermission`], [`OpenError::Io`].
    pub fn lock(dir: &Path) -> Result<Self, OpenError> {
        if !dir.is_dir() {
            std::fs::create_dir_all(dir).map_err(OpenError::io("making", dir))?;
            // Its own name must survive a power cut too.
            let above = dir.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
            File::open(above).and_then(|folder| folder.sync_all()).map_err(OpenError::io("syncing", above))?;
        }
        refuse_other_folders(dir)?;
        let path = dir.join("lock");
        let mut lock = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(OpenError::io("opening", &path))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut text = String::new();
                let read = lock.read_to_string(&mut text);
                let process = read.ok().and_then(|_| text.trim().parse().ok());
                return Err(OpenError::InUse { folder: dir.to_path_buf(), process });
            }
            Err(TryLockError::Error(e)) => return Err(OpenError::io("locking", &path)(e)),
        }
        // The number only makes the other one's message better; on a full disk it may be missing.
        let _ = lock.set_len(0).and_then(|()| lock.rewind()).and_then(|()| writeln!(lock, "{}", std::process::id()));
        Ok(Self { dir: dir.to_path_buf(), lock })
    }

    /// The data folder.
    #[must_use]
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// Where the journal lies in it.
    #[must_use]
    pub fn journal(&self) -> PathBuf {
        self.dir.join("journal")
    }
}

/// What tells a shop's folder, even if its journal was taken away: that is damage, and told as such.
const TELLING: [&str; 3] = ["journal", "index", "token"];
/// What else it may hold before it has a journal: what a start makes first, and what a fresh disk brings.
const HARMLESS: [&str; 4] = ["lock", "plugins", "program", "lost+found"];

/// Settings, plugins and a log may have been put there before the first start.
fn harmless(name: &str) -> bool {
    HARMLESS.contains(&name) || name.ends_with(".toml") || name.ends_with(".log")
}

/// A slip of the path must not put a journal among somebody's photos.
fn refuse_other_folders(dir: &Path) -> Result<(), OpenError> {
    if TELLING.iter().any(|name| dir.join(name).exists()) {
        return Ok(());
    }
    for item in std::fs::read_dir(dir).map_err(OpenError::io("reading", dir))? {
        let name = item.map_err(OpenError::io("reading", dir))?.file_name();
        if !name.to_str().is_some_and(harmless) {
            let found = name.to_string_lossy().into_owned();
            return Err(OpenError::NotAShop { folder: dir.to_path_buf(), found });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_of_other_things_is_not_made_a_shop() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("holiday.jpg"), b"x").unwrap();
        let refused = Folder::lock(dir.path());
        assert!(matches!(&refused, Err(OpenError::NotAShop { found, .. }) if found == "holiday.jpg"), "{refused:?}");
        assert!(!dir.path().join("lock").exists());
        // With a journal in it, other things beside do not matter.
        std::fs::create_dir(dir.path().join("journal")).unwrap();
        Folder::lock(dir.path()).unwrap();
    }
}
