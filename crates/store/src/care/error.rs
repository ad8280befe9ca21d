//! Why care of a folder was not taken, with the next step.

use crate::journal::{OpenError, ReadError};
use coilwright_shop::entry::Seq;
use std::path::PathBuf;
use thiserror::Error;

/// Why a copy was not made, not put back, or could not mend.
#[derive(Debug, Error)]
pub enum CareError {
    /// A folder cannot be used.
    #[error(transparent)]
    Folder(#[from] OpenError),
    /// Lines of the journal that is copied cannot be read.
    #[error(transparent)]
    Source(#[from] ReadError),
    /// The place for a backup is a shop's own data folder.
    #[error("{} is a shop's data folder, not a place for a backup; name another folder, best on another disk", .folder.display())]
    DataFolder {
        /// The folder.
        folder: PathBuf,
    },
    /// There is no backup.
    #[error("{} holds no backup; name the folder that `coilwright backup` wrote", .folder.display())]
    NoBackup {
        /// The folder.
        folder: PathBuf,
    },
    /// The backup goes on differently, or is of another shop.
    #[error("{} is a backup of another history: {what}; nothing was changed: name an empty folder for a backup of this one", .folder.display())]
    OtherHistory {
        /// The backup.
        folder: PathBuf,
        /// How it differs.
        what: String,
    },
    /// The new folder is not new.
    #[error("{} is there already; name a folder that is not, so that nothing is overwritten", .folder.display())]
    NotNew {
        /// The folder.
        folder: PathBuf,
    },
    /// It was asked for an entry that the backup does not hold.
    #[error("{} ends at entry {head}; entry {asked} is not in it", .folder.display())]
    NotThere {
        /// The backup.
        folder: PathBuf,
        /// Its last entry.
        head: Seq,
        /// What was asked for.
        asked: Seq,
    },
    /// An entry is good neither in the folder nor in the backup.
    #[error("entry {seq} is good neither in {} nor in {}; nothing was changed: `coilwright restore {} --data NEW` gives all that the backup holds, up to entry {backup_head}", .folder.display(), .backup.display(), .backup.display())]
    NotMendable {
        /// The data folder.
        folder: PathBuf,
        /// The backup.
        backup: PathBuf,
        /// The first entry that is lost.
        seq: Seq,
        /// The backup's last entry.
        backup_head: Seq,
    },
}
