//! A plugin's folder, embedded or on disk: the only place where its files are read, each with its bounds.

use crate::contents;
use crate::fault::Fault;
use include_dir::Dir;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// Most bytes of `plugin.toml`, of one table, of one file of cases and of `SOURCES.md`.
pub(crate) const MANIFEST_BYTES: u64 = 64 << 10;
pub(crate) const TABLE_BYTES: u64 = 8 << 20;
pub(crate) const CASES_BYTES: u64 = 1 << 20;
pub(crate) const SOURCES_BYTES: u64 = 1 << 20;
pub(crate) const SCRIPT_BYTES: u64 = 64 << 10;
/// Most bytes of a whole plugin, and most entries of one of its folders.
pub(crate) const PLUGIN_BYTES: u64 = 32 << 20;
pub(crate) const ENTRIES: usize = 1000;

/// Where a plugin's files are.
#[derive(Debug)]
enum Place {
    Embedded {
        all: &'static Dir<'static>,
        name: String,
    },
    /// Canonical, so that a link which leads out of it is recognised.
    Disk {
        root: PathBuf,
    },
    /// Out of an archive, not written anywhere yet.
    Memory {
        files: Files,
    },
}

/// Contents of files by their names within a plugin's folder.
pub type Files = BTreeMap<String, Vec<u8>>;

/// A plugin's folder, with a digest of everything that was read from it.
#[derive(Debug)]
pub(crate) struct Folder {
    place: Place,
    read: BTreeMap<String, [u8; 32]>,
    bytes: u64,
}

impl Folder {
    pub(crate) fn embedded(all: &'static Dir<'static>, name: &str) -> Folder {
        Folder { place: Place::Embedded { all, name: name.to_owned() }, read: BTreeMap::new(), bytes: 0 }
    }

    /// # Errors
    /// A fault where the path is no folder or a link leads out of `within`.
    pub(crate) fn on_disk(path: &Path, within: &Path) -> Result<Folder, Fault> {
        let root = path.canonicalize().map_err(|e| Fault::new(format!("the folder cannot be opened: {e}")))?;
        if !root.starts_with(within) {
            return Err(
                Fault::new("the folder is a link that leads out of the plugins' folder").next("copy it in instead")
            );
        }
        contents::look(&root)?;
        Ok(Folder { place: Place::Disk { root }, read: BTreeMap::new(), bytes: 0 })
    }

    pub(crate) fn in_memory(files: &Files) -> Folder {
        Folder { place: Place::Memory { files: files.clone() }, read: BTreeMap::new(), bytes: 0 }
    }

    /// A text file: UTF-8, a byte order mark and CRLF taken as they come.
    ///
    /// # Errors
    /// A fault that names the file: absent, outside the folder, above `most` bytes, or not UTF-8.
    pub(crate) fn text(&mut self, name: &str, most: u64) -> Result<String, Fault> {
        let at = |message: String| Fault::new(message).file(name);
        inside(name)?;
        let most = most.min(PLUGIN_BYTES.saturating_sub(self.bytes));
        let bytes = match &self.place {
            Place::Embedded { all, name: plugin } => all
                .get_file(format!("{plugin}/{name}"))
                .map(|f| f.contents().to_vec())
                .ok_or_else(|| not_there(name))?,
            Place::Disk { root } => read_bounded(root, name, most)?,
            Place::Memory { files } => files.get(name).cloned().ok_or_else(|| not_there(name))?,
        };
        if bytes.len() as u64 > most {
            return Err(at(format!("the file is larger than the {most} bytes allowed"))
                .next("split it into several files or plugins"));
        }
        self.bytes += bytes.len() as u64;
        self.read.insert(name.to_owned(), Sha256::digest(&bytes).into());
        let text = String::from_utf8(bytes).map_err(|e| {
            let good = e.utf8_error().valid_up_to();
            let line = 1 + e.as_bytes().iter().take(good).filter(|b| **b == b'\n').count() as u64;
            at("the text is not UTF-8".into()).line(line).next("save the file with the encoding UTF-8")
        })?;
        Ok(text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text))
    }

    /// Names of the files in `folder` that end in `.ext`, sorted; none where there is no such folder.
    ///
    /// # Errors
    /// A fault where the folder cannot be read or holds too much.
    pub(crate) fn list(&self, folder: &str, ext: &str) -> Result<Vec<String>, Fault> {
        inside(folder)?;
        let mut names = Vec::new();
        match &self.place {
            Place::Embedded { all, name } => {
                let files = all.get_dir(format!("{name}/{folder}")).map(|d| d.files());
                names.extend(
                    files.into_iter().flatten().filter_map(|f| f.path().file_name()?.to_str()).map(str::to_owned),
                );
            }
            Place::Memory { files } => {
                let within = format!("{folder}/");
                names.extend(files.keys().filter_map(|name| name.strip_prefix(&within)).map(str::to_owned));
            }
            Place::Disk { root } => {
                let path = root.join(folder);
                if !path.exists() {
                    return Ok(names);
                }
                let unreadable = |e: std::io::Error| Fault::new(format!("the folder cannot be read: {e}")).file(folder);
                for entry in path.read_dir().map_err(unreadable)?.take(ENTRIES + 1) {
                    let entry = entry.map_err(unreadable)?;
                    names.push(entry.file_name().to_string_lossy().into_owned());
                }
                if names.len() > ENTRIES {
                    return Err(Fault::new(format!("more than {ENTRIES} files in one folder")).file(folder));
                }
            }
        }
        names.retain(|n| Path::new(n).extension().is_some_and(|e| e == ext) && !n.starts_with('.'));
        names.sort_unstable();
        Ok(names.into_iter().map(|n| format!("{folder}/{n}")).collect())
    }

    /// Digest of all that was read: names and contents, in the order of the names.
    pub(crate) fn digest(&self) -> [u8; 32] {
        let mut sum = Sha256::new();
        for (name, contents) in &self.read {
            sum.update((name.len() as u64).to_be_bytes());
            sum.update(name);
            sum.update(contents);
        }
        sum.finalize().into()
    }
}

/// A plugin's folder as it lies on the disk, to be packed.
#[derive(Debug)]
pub struct PluginFolder {
    /// What it is called.
    pub name: String,
    /// Its files.
    pub files: Files,
    /// What else lies there: links, and files of kinds that no plugin has.
    pub strays: Vec<String>,
}

impl PluginFolder {
    /// Reads a folder.
    ///
    /// # Errors
    /// A fault for a link that leads out of it, for too many files and for too many bytes.
    pub fn read(path: &Path) -> Result<PluginFolder, Fault> {
        let root = path.canonicalize().map_err(|e| Fault::new(format!("the folder cannot be opened: {e}")))?;
        let contents = contents::look(&root)?;
        let (mut files, mut left) = (Files::new(), PLUGIN_BYTES);
        for name in contents.files {
            let bytes = read_bounded(&root, &name, left)?;
            left = left.checked_sub(bytes.len() as u64).ok_or_else(|| {
                Fault::new(format!("the plugin is larger than the {} MiB allowed", PLUGIN_BYTES >> 20)).file(&name)
            })?;
            files.insert(name, bytes);
        }
        Ok(PluginFolder { name: folder_name(&root), files, strays: contents.strays })
    }
}

/// What a folder is called, `.` and links looked through.
pub fn folder_name(path: &Path) -> String {
    let whole = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    whole.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

fn not_there(name: &str) -> Fault {
    Fault::new("the file is not there").file(name).next("compare the name with that in plugin.toml; capitals count")
}

/// Whether a name stays within the folder by its words alone.
fn inside(name: &str) -> Result<(), Fault> {
    let plain = Path::new(name).components().all(|c| matches!(c, Component::Normal(_)));
    if name.is_empty() || name.contains(['\\', '\0']) || !plain {
        return Err(Fault::new(format!("`{name}` does not lie in the plugin's folder"))
            .next("name a file within it, with forward slashes, e.g. `tables/wire.csv`"));
    }
    Ok(())
}

fn read_bounded(root: &Path, name: &str, most: u64) -> Result<Vec<u8>, Fault> {
    let fault = |message: String| Fault::new(message).file(name);
    let path = root.join(name).canonicalize().map_err(|e| match e.kind() {
        std::io::ErrorKind::NotFound => not_there(name),
        _ => fault(format!("the file cannot be opened: {e}")),
    })?;
    if !path.starts_with(root) {
        return Err(
            fault("the file is a link that leads out of the plugin's folder".into()).next("copy the file in instead")
        );
    }
    // Before opening: opening a pipe would wait for its other end.
    let unreadable = |e: std::io::Error| fault(format!("the file cannot be read: {e}"));
    if !path.metadata().map_err(unreadable)?.is_file() {
        return Err(fault("this is no plain file".into()));
    }
    let mut bytes = Vec::new();
    File::open(&path).and_then(|f| f.take(most + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
    Ok(bytes)
}
