//! Another version of the program on a shop's data: a backup is taken before it first opens them.
//!
//! `DIR/program` names the version that opened the folder last. Entries are never rewritten, so a backup of the journal
//! is all that the way back needs; `crates/store/FORMAT.md`, "Upgrades and the way back", says how it is gone.

use crate::serve::ServeError;
use coilwright_store::{BackedUp, CareError, Folder, OpenError, RealDisk, backup, read_folder};
use jiff::Timestamp;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

const PROGRAM: &str = "program";

/// A backup that was taken because the program is another one.
#[derive(Debug)]
pub struct Taken {
    /// The version that had the folder before, if it said so.
    pub before: String,
    /// Where it lies.
    pub folder: PathBuf,
    /// How far it goes.
    pub backed_up: BackedUp,
}

/// Takes the backup if the folder was last opened by another version: to the folder set for backups, else under
/// `DIR/upgrades`. Nothing else is touched. A new folder needs none.
///
/// # Errors
/// The journal is damaged, of a newer program or in use, or there is no room: then the new version does not start on it.
pub fn backup_first(dir: &Path, version: &str, set: Option<&Path>) -> Result<Option<Taken>, ServeError> {
    let before = fs::read_to_string(dir.join(PROGRAM)).unwrap_or_default().trim().to_owned();
    if before == version || !dir.join("journal").exists() {
        return Ok(None);
    }
    let before = if before.is_empty() { "unknown".to_owned() } else { named(&before) };
    let _lock = Folder::lock(dir)?;
    let reading = read_folder(Arc::new(RealDisk), dir)?;
    let folder = set.map_or_else(|| dir.join("upgrades").join(format!("{before}-to-{version}")), Path::to_path_buf);
    fs::create_dir_all(&folder).map_err(|why| failed(&folder, &why))?;
    match backup(&RealDisk, reading.as_ref(), &folder, Timestamp::now()) {
        Ok(backed_up) => Ok(Some(Taken { before, folder, backed_up })),
        Err(CareError::Folder(why @ OpenError::Newer { .. })) => Err(why.into()),
        Err(why) => Err(failed(&folder, &why)),
    }
}

/// Notes that this version has opened the folder.
///
/// # Errors
/// What the system said. Without the note the next start takes a backup again, no more.
pub fn note(dir: &Path, version: &str) -> std::io::Result<()> {
    let path = dir.join(PROGRAM);
    if fs::read_to_string(&path).is_ok_and(|noted| noted.trim() == version) {
        return Ok(());
    }
    let temp = dir.join("program.tmp");
    fs::write(&temp, format!("{version}\n"))?;
    fs::rename(&temp, path)
}

fn failed(folder: &Path, why: &dyn std::fmt::Display) -> ServeError {
    ServeError::Upgrade { folder: folder.into(), why: why.to_string() }
}

/// A version as part of a folder's name, whatever stood in the file.
fn named(version: &str) -> String {
    version.chars().filter(|c| c.is_ascii_alphanumeric() || ".-+".contains(*c)).take(40).collect()
}
