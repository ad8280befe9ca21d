//! Plugins on the disk: begun, packed, added to a shop, switched off and on again.

use super::plugin::{Looked, PluginError, look, there};
use crate::scripts::bare_room;
use coilwright_catalog::{
    ARCHIVE_BYTES, Catalog, Fault, Files, OFF, Packed, PluginFolder, Trial, WireFilter, folder_name, is_free_id, kinds,
    pack, scaffold, sha256, unpack,
};
use std::fs::{self, File, OpenOptions};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// Replaced plugins lie here, within the folder of plugins.
const BEFORE: &str = ".before";

/// The kinds of plugins of which there is a beginning.
pub fn plugin_kinds() -> Vec<&'static str> {
    kinds()
}

/// Begins a plugin: a folder of this name in `dir`, with a worked example that holds.
///
/// # Errors
/// The name or the kind is none, or the folder is there.
pub fn new_plugin(name: &str, kind: &str, dir: &Path) -> Result<PathBuf, PluginError> {
    is_free_id(name).map_err(|(why, next)| PluginError::Name { why, next })?;
    let no_kind = || PluginError::Kind { kind: kind.to_owned(), kinds: kinds().join(", ") };
    let files = scaffold(kind, name).ok_or_else(no_kind)?;
    let folder = dir.join(name);
    fs::create_dir_all(dir).map_err(PluginError::system("making", dir))?;
    match fs::create_dir(&folder) {
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => return Err(PluginError::There { path: folder }),
        made => made.map_err(PluginError::system("making", &folder))?,
    }
    write(&folder, &files)?;
    Ok(folder)
}

/// A plugin in one file.
#[derive(Debug)]
pub struct PackedPlugin {
    /// The archive.
    pub file: PathBuf,
    /// SHA-256 of the archive (hexadecimal).
    pub sha256: String,
    /// What is in it.
    pub packed: Packed,
    /// What lies in the folder and was left out.
    pub left_out: Vec<String>,
}

/// Packs a plugin's folder into one file, `ID-VERSION.tar.gz` if no other is named.
///
/// # Errors
/// Whatever [`super::look_at_plugin`] finds wrong; the file is there already or cannot be written.
pub fn pack_plugin(folder: &Path, to: Option<&Path>, others: Option<&Path>) -> Result<PackedPlugin, PluginError> {
    let (name, files, left_out) = files_of(folder)?;
    let looked = right(look(&Trial::Files { name: &name, files: &files }, &name, others))?;
    let version = looked.info.map(|info| info.version).unwrap_or_default();
    let (bytes, packed) = pack(&name, &version, &files).map_err(|fault| PluginError::refused(&name, fault))?;
    let file = to.map_or_else(|| PathBuf::from(format!("{name}-{version}.tar.gz")), Path::to_path_buf);
    let made = OpenOptions::new().write(true).create_new(true).open(&file);
    let mut made = made.map_err(|e| match e.kind() {
        std::io::ErrorKind::AlreadyExists => PluginError::There { path: file.clone() },
        _ => PluginError::system("writing", &file)(e),
    })?;
    if let Err(e) = made.write_all(&bytes).and_then(|()| made.sync_all()) {
        let _ = fs::remove_file(&file);
        return Err(PluginError::system("writing", &file)(e));
    }
    Ok(PackedPlugin { file, sha256: sha256(&bytes), packed, left_out })
}

/// A plugin that was put into a shop's folder.
#[derive(Debug)]
pub struct AddedPlugin {
    /// Where it lies.
    pub folder: PathBuf,
    /// What it is, with its examples.
    pub looked: Looked,
    /// Where the one lies that it replaced.
    pub set_aside: Option<PathBuf>,
    /// Whether it is switched off.
    pub off: bool,
    /// What lay in its folder and was left out.
    pub left_out: Vec<String>,
}

/// Adds a plugin, a folder or an archive, to a folder of plugins. It is checked and tried in memory; only then anything is
/// written, beside its place first.
///
/// # Errors
/// Whatever is wrong with the archive or the plugin; the system says no. Then all is as before.
pub fn add_plugin(from: &Path, sha256: Option<&str>, plugins: &Path) -> Result<AddedPlugin, PluginError> {
    let (name, files, left_out) = if from.is_dir() {
        files_of(from)?
    } else {
        let packed = read_archive(from, sha256)?;
        (packed.id, packed.files, Vec::new())
    };
    let looked = right(look(&Trial::Files { name: &name, files: &files }, &name, Some(plugins)))?;
    fs::create_dir_all(plugins).map_err(PluginError::system("making", plugins))?;
    let adding = plugins.join(format!(".adding-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&adding);
    fs::create_dir(&adding).map_err(PluginError::system("making", &adding))?;
    let put = write(&adding, &files).and_then(|()| into_place(&adding, &name, plugins));
    if put.is_err() {
        let _ = fs::remove_dir_all(&adding);
    }
    let off = plugins.join(format!("{name}{OFF}")).exists();
    Ok(AddedPlugin { folder: plugins.join(&name), looked, set_aside: put?, off, left_out })
}

fn into_place(adding: &Path, name: &str, plugins: &Path) -> Result<Option<PathBuf>, PluginError> {
    let place = plugins.join(name);
    let mut aside = None;
    if place.symlink_metadata().is_ok() {
        let before = plugins.join(BEFORE);
        fs::create_dir_all(&before).map_err(PluginError::system("making", &before))?;
        let free = (1u32..).map(|n| before.join(format!("{name}-{n}"))).find(|path| !path.exists());
        let free = free.unwrap_or_else(|| before.join(name));
        fs::rename(&place, &free).map_err(PluginError::system("setting aside", &place))?;
        aside = Some(free);
    }
    if let Err(e) = fs::rename(adding, &place) {
        if let Some(old) = &aside {
            let _ = fs::rename(old, &place);
        }
        return Err(PluginError::system("renaming to", &place)(e));
    }
    let _ = File::open(plugins).and_then(|folder| folder.sync_all());
    Ok(aside)
}

/// What became of switching a plugin off or on.
#[derive(Debug)]
pub struct Switched {
    /// Whether anything changed.
    pub changed: bool,
    /// Faults that plugins have now and had not before.
    pub faults: Vec<Fault>,
}

/// Switches a plugin, a built-in one too, off or on: a file `ID.off` in the folder of plugins is there or not.
///
/// # Errors
/// There is no such plugin, no wire would be left, or the system says no.
pub fn switch_plugin(id: &str, off: bool, plugins: &Path) -> Result<Switched, PluginError> {
    let before = Catalog::load_in(there(Some(plugins)), &bare_room());
    let mark = plugins.join(format!("{id}{OFF}"));
    let catalog = &before.catalog;
    let mut known: Vec<&str> = catalog.plugins().iter().map(|p| p.id.as_str()).collect();
    known.extend(catalog.off().iter().map(|p| p.id.as_str()));
    known.extend(before.faults.iter().map(|fault| fault.plugin.as_str()));
    known.sort_unstable();
    known.dedup();
    if is_free_id(id).is_err() || (!known.contains(&id) && !plugins.join(id).is_dir() && !mark.exists()) {
        return Err(PluginError::Unknown { id: id.to_owned(), known: known.join(", ") });
    }
    if off == mark.exists() {
        return Ok(Switched { changed: false, faults: Vec::new() });
    }
    if off {
        fs::create_dir_all(plugins).map_err(PluginError::system("making", plugins))?;
        let text =
            format!("`{id}` is switched off. `coilwright plugin on {id}` or removing this file switches it on.\n");
        fs::write(&mark, text).map_err(PluginError::system("writing", &mark))?;
    } else {
        fs::remove_file(&mark).map_err(PluginError::system("removing", &mark))?;
    }
    let after = Catalog::load_in(Some(plugins), &bare_room());
    if after.catalog.wires(WireFilter::default()).next().is_none() {
        let _ = fs::remove_file(&mark);
        return Err(PluginError::LastWires { id: id.to_owned() });
    }
    let faults = after.faults.into_iter().filter(|fault| !before.faults.contains(fault)).collect();
    Ok(Switched { changed: true, faults })
}

fn files_of(folder: &Path) -> Result<(String, Files, Vec<String>), PluginError> {
    if !folder.is_dir() {
        let next = "name the folder that holds the plugin.toml";
        return Err(PluginError::NotThere { path: folder.to_path_buf(), next });
    }
    let PluginFolder { name, files, strays } =
        PluginFolder::read(folder).map_err(|fault| PluginError::refused(&folder_name(folder), fault))?;
    Ok((name, files, strays))
}

fn read_archive(file: &Path, promised: Option<&str>) -> Result<Packed, PluginError> {
    let mut bytes = Vec::new();
    let opened = File::open(file).map_err(|e| match e.kind() {
        std::io::ErrorKind::NotFound => {
            PluginError::NotThere { path: file.to_path_buf(), next: "name an archive or a plugin's folder" }
        }
        _ => PluginError::system("reading", file)(e),
    })?;
    opened.take(ARCHIVE_BYTES + 1).read_to_end(&mut bytes).map_err(PluginError::system("reading", file))?;
    let called = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    if bytes.len() as u64 > ARCHIVE_BYTES {
        let why = std::io::Error::other(format!("it is larger than the {} MiB allowed", ARCHIVE_BYTES >> 20));
        return Err(PluginError::System { doing: "reading", path: file.to_path_buf(), why });
    }
    let met = sha256(&bytes);
    if let Some(promised) = promised
        && !promised.eq_ignore_ascii_case(&met)
    {
        return Err(PluginError::OtherFile { path: file.to_path_buf(), met, promised: promised.to_owned() });
    }
    unpack(&bytes).map_err(|fault| PluginError::refused(&called, fault))
}

fn right(looked: Looked) -> Result<Looked, PluginError> {
    if looked.info.is_some() && looked.faults.is_empty() {
        Ok(looked)
    } else {
        Err(PluginError::Refused { faults: looked.faults })
    }
}

fn write(into: &Path, files: &Files) -> Result<(), PluginError> {
    for (name, contents) in files {
        let path = into.join(name);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(PluginError::system("making", folder))?;
        }
        let file = OpenOptions::new().write(true).create_new(true).open(&path);
        let written = file.and_then(|mut file| file.write_all(contents).and_then(|()| file.sync_all()));
        written.map_err(PluginError::system("writing", &path))?;
    }
    Ok(())
}
