//! What the walk of the chain does not see: whether the index and the fold frozen in it agree with the journal.

use crate::disk::RealDisk;
use crate::fold::{Fold, Subjects};
use crate::index::{IndexStart, KeyKeeping, open_candidate};
use crate::journal::{Finding, Folder, OpenError, read_folder, start_of, walk_entries};
use crate::past::Past;
use std::path::Path;
use std::sync::Arc;

/// Compares the index of a data folder, whose daemon does not run, with its journal: its checksums and counts, the entry
/// it names, and its frozen fold against the journal folded from the first line. Reads everything once.
///
/// # Errors
///
/// If the folder is in use or the journal cannot be read to its end: see [`crate::verify_folder`] for why.
pub fn verify_index<S: Fold + PartialEq>(data: &Path, subjects: Subjects) -> Result<Vec<Finding>, OpenError> {
    let _folder = Folder::lock(data)?;
    let reading = read_folder(Arc::new(RealDisk), data)?;
    let path = data.join("index");
    let finding = |code, grave, text: String| vec![Finding { code, grave, path: path.clone(), seq: None, text }];
    if !path.exists() {
        return Ok(finding("index_missing", false, "there is no index; the next start makes it".to_owned()));
    }
    let start = IndexStart { journal: Arc::clone(&reading), subjects, keeping: KeyKeeping::default() };
    let index = match open_candidate(data).look(start) {
        Ok(index) => index,
        Err(why) => return Ok(finding("index_distrusted", false, format!("{why}; the next start makes it anew"))),
    };
    let Some((frozen, at)) = index.thaw::<S>() else { return Ok(Vec::new()) };
    let past = Past::new(&index, &[]);
    let (mut folded, mut agrees) = (S::default(), at.seq == 0);
    walk_entries(reading.as_ref(), start_of(reading.as_ref()), |line, entry| {
        if entry.seq <= at.seq {
            folded.apply(&entry, &past)?;
        }
        if line.head.seq == at.seq {
            agrees = line.head == at && folded == frozen;
        }
        Ok(())
    })?;
    if agrees {
        return Ok(Vec::new());
    }
    let text = format!(
        "the state frozen at entry {} is not what the journal adds up to; delete this folder, the next start makes it anew",
        at.seq
    );
    Ok(finding("fold_differs", true, text))
}
