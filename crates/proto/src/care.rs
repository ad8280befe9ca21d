//! `care.*`: what keeps the shop's memory safe, asked of a running daemon.

use crate::shape::{asks, method, tells};

asks! {
    /// Asks for a backup now.
    CareBackup {} may {}
}
method!(CareBackup => CareBackedUp, "care.backup", "Adds to the backup what it does not hold yet, into the folder that the setting store.backup names.", writes: true);

tells! {
    /// How far the backup goes.
    CareBackedUp {
        /// Its last entry.
        head: u64,
        /// Hash of that entry.
        hash: String,
        /// Entries added this time.
        added: u64,
        /// When, UTC.
        at: String,
    } may {}
}
