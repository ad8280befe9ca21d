//! Makes the journal's files, each so that a kill leaves it whole or not there.

use super::manifest::{MANIFEST, Manifest, sealed_bytes};
use super::segment;
use crate::disk::{Disk, DiskFile, replace};
use coilwright_shop::entry::Seq;
use std::io;
use std::path::Path;

/// Room that is given up when a start finds the disk full.
pub(super) const BALLAST: &str = "ballast";

/// Keeps some room for the next start. Not having it is no reason to stop.
pub(super) fn keep_ballast(disk: &dyn Disk, dir: &Path, wanted: u64) {
    let path = dir.join(BALLAST);
    if wanted == 0 || disk.open_read(&path).and_then(|mut f| f.length()).is_ok_and(|length| length >= wanted) {
        return;
    }
    let made = disk.open(&path, true).and_then(|mut file| {
        fill(file.as_mut(), 0, wanted)?;
        file.sync()
    });
    if made.is_err() {
        let _ = disk.remove(&path);
    }
}

pub(super) fn write_manifest(disk: &dyn Disk, dir: &Path, manifest: &Manifest) -> io::Result<()> {
    replace(disk, dir, MANIFEST, &sealed_bytes(manifest)?)
}

/// Makes an empty segment: there with all its newlines or not at all.
pub(super) fn make_segment(disk: &dyn Disk, dir: &Path, first: Seq, step: u64) -> io::Result<()> {
    let temp = dir.join("segment.tmp");
    let mut file = disk.open(&temp, true)?;
    fill(file.as_mut(), 0, step)?;
    file.sync()?;
    drop(file);
    disk.rename(&temp, &dir.join(segment::name(first)))?;
    disk.sync_dir(dir)
}

/// Writes newlines from `from` up to `to`.
pub(super) fn fill(file: &mut dyn DiskFile, from: u64, to: u64) -> io::Result<()> {
    static NEWLINES: [u8; 64 << 10] = [b'\n'; 64 << 10];
    let mut at = from;
    while at < to {
        let length = usize::try_from(to - at).unwrap_or(usize::MAX).min(NEWLINES.len());
        file.write_at(at, NEWLINES.get(..length).unwrap_or(&NEWLINES))?;
        at += length as u64;
    }
    Ok(())
}
