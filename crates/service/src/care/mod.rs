//! Care of a data folder: verify, backup, restore, repair, doctor, rehearsal, plugins. Works on files, without a daemon.

mod doctor;
mod export;
mod plugin;
mod plugin_files;

pub use crate::plugin_list::offers as plugin_offers;
pub use coilwright_store::{CareError, OpenError, Repaired, Restored, Until, repair, restore};
pub use doctor::{Ailment, doctor};
pub use export::{ExportError, Exported, export};
pub use plugin::{Looked, PluginError, look_at_plugin};
pub use plugin_files::{
    AddedPlugin, PackedPlugin, Switched, add_plugin, new_plugin, pack_plugin, plugin_kinds, switch_plugin,
};

use crate::care_words as words;
use coilwright_proto::care::CareBackedUp;
use coilwright_proto::journal::JournalVerified;
use coilwright_shop::state::State;
use coilwright_store::{Finding, Folder, RealDisk, Verified, backup, read_folder, verify_folder, verify_index};
use jiff::Timestamp;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What was found of a folder's journal; `newer` if a newer program wrote it.
pub struct Checked {
    /// The same as `journal.verify` answers.
    pub answer: JournalVerified,
    /// Whether a newer program wrote it.
    pub newer: bool,
}

/// Walks the chain of a data folder or a backup, changing nothing. `deep`: the index too, for which no daemon may run.
///
/// # Errors
/// For the deep look only: the folder is in use, or a lock cannot be had.
pub fn verify(data: &Path, deep: bool) -> Result<Checked, OpenError> {
    let mut found: Verified = verify_folder(&RealDisk, data);
    if deep && found.ok {
        let more: Vec<Finding> = verify_index::<State>(data, crate::serve::subjects)?;
        found.ok = more.iter().all(|finding| !finding.grave);
        found.findings.extend(more);
    }
    let newer = found.findings.iter().any(|finding| finding.code == "newer_format");
    Ok(Checked { answer: words::verified(found), newer })
}

/// Backs up a data folder whose daemon does not run.
///
/// # Errors
/// See [`CareError`]; a folder in use is backed up by `care.backup`, which knows what is synced.
pub fn back_up(data: &Path, to: &Path) -> Result<CareBackedUp, CareError> {
    if !data.join("journal").is_dir() {
        return Err(CareError::NoBackup { folder: data.to_path_buf() });
    }
    let _folder = Folder::lock(data)?;
    let reading = read_folder(Arc::new(RealDisk), data)?;
    Ok(words::backed_up(&backup(&RealDisk, reading.as_ref(), to, Timestamp::now())?))
}

/// Copies a shop beside itself, to be tried out and thrown away: the folder's name with `-rehearsal` behind it. An earlier
/// copy is replaced. The shop's own daemon may run.
///
/// # Errors
/// See [`CareError`]. A folder of that name that is no rehearsal is left alone.
pub fn rehearse(data: &Path) -> Result<PathBuf, CareError> {
    const MARK: &str = "rehearsal";
    let mut name = data.file_name().unwrap_or_default().to_os_string();
    name.push("-rehearsal");
    let copy = data.with_file_name(name);
    if copy.join(MARK).is_file() {
        drop(Folder::lock(&copy)?);
        fs::remove_dir_all(&copy).map_err(|e| unusable("clearing", &copy, e))?;
    }
    restore(data, &copy, Until::End)?;
    fs::write(copy.join(MARK), "a copy to try things out on; it may be deleted\n")
        .map_err(|e| unusable("marking", &copy, e))?;
    Ok(copy)
}

fn unusable(doing: &'static str, path: &Path, source: io::Error) -> CareError {
    CareError::Folder(OpenError::Io { doing, path: path.to_path_buf(), source })
}
