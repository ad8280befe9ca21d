//! What lies in a plugin's folder: its files by their kinds, what is none of them, and no link that leads out.

use crate::fault::Fault;
use crate::folder::ENTRIES;
use std::fs::FileType;
use std::path::Path;

/// The kinds of file that a plugin has, for people.
pub(crate) const KINDS: &str =
    "plugin.toml, SOURCES.md, README.md, LICENSE.txt, tables/*.csv, scripts/*.rhai and cases/*.json";

/// What was found.
#[derive(Debug, Default)]
pub(crate) struct Contents {
    /// Plain files of the kinds that a plugin has, sorted.
    pub(crate) files: Vec<String>,
    /// Anything else, sorted: nobody reads it.
    pub(crate) strays: Vec<String>,
}

/// Looks a folder over, hidden files left out: nothing of a plugin is read from them.
///
/// # Errors
/// A fault for a link that leads out of the folder or nowhere, and for more entries than one plugin may have.
pub(crate) fn look(root: &Path) -> Result<Contents, Fault> {
    let mut contents = Contents::default();
    let mut folders = vec![String::new()];
    let mut seen = 0;
    while let Some(folder) = folders.pop() {
        let unreadable = |e: std::io::Error| {
            let fault = Fault::new(format!("the folder cannot be read: {e}"));
            if folder.is_empty() { fault } else { fault.file(&folder) }
        };
        for entry in root.join(&folder).read_dir().map_err(unreadable)? {
            let entry = entry.map_err(unreadable)?;
            let name = entry.file_name().to_string_lossy().into_owned();
            if name.starts_with('.') {
                continue;
            }
            let name = if folder.is_empty() { name } else { format!("{folder}/{name}") };
            seen += 1;
            if seen > ENTRIES {
                return Err(Fault::new(format!("more than {ENTRIES} files in the plugin's folder"))
                    .next("keep in it only what the plugin needs"));
            }
            let kind: FileType = entry.file_type().map_err(unreadable)?;
            if kind.is_symlink() {
                stays_within(root, &entry.path(), &name)?;
                contents.strays.push(name);
            } else if kind.is_dir() {
                folders.push(name);
            } else if kind.is_file() && is_of_plugin(&name) {
                contents.files.push(name);
            } else {
                contents.strays.push(name);
            }
        }
    }
    contents.files.sort_unstable();
    contents.strays.sort_unstable();
    Ok(contents)
}

fn stays_within(root: &Path, link: &Path, name: &str) -> Result<(), Fault> {
    let fault =
        |message: &str| Err(Fault::new(message).file(name).next("copy the file in instead, or remove the link"));
    match link.canonicalize() {
        Ok(target) if target.starts_with(root) => Ok(()),
        Ok(_) => fault("this is a link that leads out of the plugin's folder"),
        Err(_) => fault("this is a link that leads nowhere"),
    }
}

/// Whether a name, with forward slashes, is one that a plugin's file has.
pub(crate) fn is_of_plugin(name: &str) -> bool {
    let within = |folder: &str, end: &str| {
        let rest = name.strip_prefix(folder).and_then(|rest| rest.strip_suffix(end));
        rest.is_some_and(|rest| !rest.is_empty() && !rest.starts_with('.') && !rest.contains('/'))
    };
    matches!(name, "plugin.toml" | "SOURCES.md" | "README.md" | "LICENSE.txt")
        || within("tables/", ".csv")
        || within("scripts/", ".rhai")
        || within("cases/", ".json")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_files_of_a_plugin_are_known_by_their_names() {
        for name in ["plugin.toml", "SOURCES.md", "tables/a.csv", "scripts/a b.rhai", "cases/x.y.json"] {
            assert!(is_of_plugin(name), "{name}");
        }
        for name in
            ["Plugin.toml", "tables/a.xlsx", "tables/.csv", "tables/.a.csv", "tables/x/a.csv", "a.csv", "tables/", ""]
        {
            assert!(!is_of_plugin(name), "{name}");
        }
    }
}
