//! Beginnings of plugins: one of each kind, small, right, and with a worked example that holds.

use crate::folder::Files;
use include_dir::{Dir, include_dir};

static SCAFFOLDS: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/scaffold");

/// The kinds of which there is a beginning, by name.
pub fn kinds() -> Vec<&'static str> {
    let mut kinds: Vec<&str> = SCAFFOLDS.dirs().filter_map(|dir| dir.path().to_str()).collect();
    kinds.sort_unstable();
    kinds
}

/// The files of a new plugin of this kind and id; none if there is no such kind.
pub fn scaffold(kind: &str, id: &str) -> Option<Files> {
    let title = id.replace('-', " ");
    let mut files = Files::new();
    let mut folders = vec![SCAFFOLDS.get_dir(kind)?];
    while let Some(folder) = folders.pop() {
        folders.extend(folder.dirs());
        for file in folder.files() {
            let name = file.path().strip_prefix(kind).ok()?.to_str()?;
            let text = file.contents_utf8()?.replace("{{id}}", id).replace("{{title}}", &title);
            files.insert(name.to_owned(), text.into_bytes());
        }
    }
    Some(files)
}
