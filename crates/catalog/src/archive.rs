//! A plugin in one file: a gzipped tar of plain files below one folder, with a list of their checksums at its head.
//!
//! The list is `ID/SHA256SUMS`, in the form that `sha256sum -c` reads; its remarks name the plugin and the checksum of the
//! list itself. The same files give the same bytes: no times, owners or modes of whoever packed them.

use crate::contents::{KINDS, is_of_plugin};
use crate::fault::Fault;
use crate::folder::{ENTRIES, Files, PLUGIN_BYTES};
use crate::together::hexadecimal;
use flate2::bufread::GzDecoder;
use flate2::{Compression, GzBuilder};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::io::{self, Read};
use tar::{Archive, Builder, EntryType, Header};

/// The list within the archive.
const LIST: &str = "SHA256SUMS";
const FORMAT: &str = "# coilwright plugin archive ";
const VERSION: &str = "1";
const LIST_BYTES: u64 = 1 << 20;
/// Most bytes that are unpacked: the files, and what tar adds to each.
const UNPACKED_BYTES: u64 = PLUGIN_BYTES + LIST_BYTES + 1024 * (ENTRIES as u64 + 64);
/// Most bytes of the archive itself.
pub const ARCHIVE_BYTES: u64 = PLUGIN_BYTES + LIST_BYTES;

/// What an archive holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    /// Id of the plugin: the folder's name.
    pub id: String,
    /// Its version.
    pub version: String,
    /// SHA-256 of the list of its files' checksums (hexadecimal).
    pub whole: String,
    /// Its files, without the list.
    pub files: Files,
}

/// Packs the files of a plugin; the same files give the same bytes.
///
/// # Errors
/// A fault for a name that is too long for the archive.
pub fn pack(id: &str, version: &str, files: &Files) -> Result<(Vec<u8>, Packed), Fault> {
    let sums = sums(files);
    let whole = sha256(sums.as_bytes());
    let list = format!("{FORMAT}{VERSION}\n# plugin {id} {version}\n# whole {whole}\n{sums}");
    let gzip = GzBuilder::new().mtime(0).operating_system(255).write(Vec::new(), Compression::new(9));
    let mut tar = Builder::new(gzip);
    let all = [(LIST, list.as_bytes())].into_iter().chain(files.iter().map(|(n, c)| (n.as_str(), c.as_slice())));
    for (name, contents) in all {
        let too_long = |_| Fault::new("the name is too long for an archive").file(name).next("give it a shorter one");
        let mut header = Header::new_ustar();
        header.set_path(format!("{id}/{name}")).map_err(too_long)?;
        header.set_entry_type(EntryType::Regular);
        header.set_size(contents.len() as u64);
        header.set_mode(0o644);
        header.set_mtime(0);
        header.set_uid(0);
        header.set_gid(0);
        header.set_cksum();
        tar.append(&header, contents).map_err(|e| Fault::new(format!("cannot be packed: {e}")).file(name))?;
    }
    let bytes = tar.into_inner().and_then(|gzip| gzip.finish());
    let bytes = bytes.map_err(|e| Fault::new(format!("the archive cannot be made: {e}")))?;
    Ok((bytes, Packed { id: id.to_owned(), version: version.to_owned(), whole, files: files.clone() }))
}

/// Reads an archive in memory and believes nothing of it; nothing is written.
///
/// # Errors
/// A fault, with the name of the file within, for anything that [`pack`] would not have made.
pub fn unpack(bytes: &[u8]) -> Result<Packed, Fault> {
    let mut counted = Counted { inner: GzDecoder::new(bytes), left: UNPACKED_BYTES };
    let mut tar = Archive::new(&mut counted);
    let (mut id, mut list, mut files) = (None::<String>, None, Files::new());
    let mut seen = BTreeSet::new();
    // Raw: long names and extended headers of other programs are entries of an unknown kind, not instructions.
    for entry in tar.entries().map_err(damaged)?.raw(true) {
        let mut entry = entry.map_err(damaged)?;
        let name = safe_name(&entry.path_bytes())?;
        let at = |message: String| Fault::new(message).file(&name);
        if entry.header().entry_type() != EntryType::Regular {
            let kind = kind(entry.header().entry_type());
            return Err(at(format!("this is {kind}; an archive of a plugin holds plain files only")).next(REPACK));
        }
        let (folder, inner) = name.split_once('/').ok_or_else(|| at("it lies in no folder".into()).next(REPACK))?;
        if id.get_or_insert_with(|| folder.to_owned()) != folder {
            return Err(at("the archive has more than one folder at its top".into()).next(REPACK));
        }
        if !seen.insert(inner.to_lowercase()) {
            let fault = at("the name is there twice, or differs from another in capitals only".into());
            return Err(fault.next(REPACK));
        }
        if inner != LIST && !is_of_plugin(inner) {
            return Err(at("no plugin has such a file".into()).next(format!("the files are {KINDS}")));
        }
        if seen.len() > ENTRIES {
            return Err(at(format!("more than {ENTRIES} files in one archive")).next(REPACK));
        }
        let most = if inner == LIST { LIST_BYTES } else { PLUGIN_BYTES };
        if entry.size() > most {
            return Err(at(format!("{} bytes where {most} are allowed", entry.size())));
        }
        let mut contents = Vec::new();
        entry.read_to_end(&mut contents).map_err(damaged)?;
        if contents.len() as u64 != entry.size() {
            return Err(at("the file is cut short".into()).next(FETCH_AGAIN));
        }
        if inner == LIST {
            list = Some(String::from_utf8(contents).map_err(|_| at("the list is not UTF-8".into()).next(REPACK))?);
        } else {
            files.insert(inner.to_owned(), contents);
        }
    }
    let mut behind = Vec::new();
    counted.by_ref().take(1 << 20).read_to_end(&mut behind).map_err(damaged)?;
    if behind.iter().any(|b| *b != 0) || !counted.inner.get_ref().is_empty() {
        return Err(Fault::new("there is something behind the end of the archive").next(FETCH_AGAIN));
    }
    let Some(list) = list else {
        let message = format!("the archive has no {LIST}: nothing in it can be verified");
        return Err(Fault::new(message).next("pack the plugin's folder with `coilwright plugin pack`"));
    };
    verified(id.unwrap_or_default(), &list, files)
}

const REPACK: &str = "use an archive that `coilwright plugin pack` made";
const FETCH_AGAIN: &str = "fetch or copy the file again";

fn damaged(e: io::Error) -> Fault {
    match e.kind() {
        io::ErrorKind::FileTooLarge => {
            Fault::new(format!("it unpacks to more than the {} MiB allowed", UNPACKED_BYTES >> 20)).next(REPACK)
        }
        _ => Fault::new(format!("this is no archive of a plugin, or it is damaged: {e}")).next(FETCH_AGAIN),
    }
}

/// Compares the files with the list.
fn verified(id: String, list: &str, files: Files) -> Result<Packed, Fault> {
    let at = |message: String| Fault::new(message).file(LIST);
    let mut lines = list.lines();
    let format = lines.next().and_then(|line| line.strip_prefix(FORMAT));
    match format {
        Some(VERSION) => {}
        Some(newer) => {
            let fault = at(format!("made in archive format {newer}; this program reads format {VERSION}"));
            return Err(fault.next("use a program or an archive of the other version"));
        }
        None => return Err(at(format!("the first line is not `{FORMAT}{VERSION}`")).next(REPACK)),
    }
    let mut remark = |word: &str| {
        let found = lines.next().and_then(|line| line.strip_prefix("# ")?.strip_prefix(word)).map(str::trim);
        found.ok_or_else(|| at(format!("the line `# {word} …` is missing")).next(REPACK))
    };
    let (named, whole) = (remark("plugin ")?, remark("whole ")?);
    let (named, version) = named.split_once(' ').unwrap_or((named, ""));
    if named != id {
        return Err(at(format!("the list is of `{named}`, the folder is called `{id}`")).next(REPACK));
    }
    let promised: Vec<(&str, &str)> = lines.filter_map(|line| line.split_once("  ")).collect();
    for (name, contents) in &files {
        let met = sha256(contents);
        match promised.iter().find(|(_, listed)| listed == name) {
            Some((sum, _)) if *sum == met => {}
            Some((sum, _)) => {
                let message = format!("its SHA-256 is {met}, the list promises {sum}");
                return Err(Fault::new(message).file(name).next(FETCH_AGAIN));
            }
            None => return Err(Fault::new("it is not on the list").file(name).next(REPACK)),
        }
    }
    if let Some((_, absent)) = promised.iter().find(|(_, name)| !files.contains_key(*name)) {
        return Err(Fault::new("it is on the list and not in the archive").file(absent).next(FETCH_AGAIN));
    }
    let met = sha256(sums(&files).as_bytes());
    if met != whole {
        return Err(at(format!("the SHA-256 of the list is {met}, promised {whole}")).next(FETCH_AGAIN));
    }
    Ok(Packed { id, version: version.to_owned(), whole: met, files })
}

/// SHA-256, hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// The lines of the list.
fn sums(files: &Files) -> String {
    files.iter().map(|(name, contents)| format!("{}  {name}\n", sha256(contents))).collect()
}

/// A name that stays within the folder it is unpacked to, on every system.
fn safe_name(bytes: &[u8]) -> Result<String, Fault> {
    let shown = String::from_utf8_lossy(bytes).escape_default().to_string();
    let refused = |message: &str| Err(Fault::new(format!("the name `{shown}` {message}")).next(REPACK));
    let Ok(name) = std::str::from_utf8(bytes) else { return refused("is not UTF-8") };
    if name.starts_with('/') {
        return refused("is an absolute path");
    }
    if name.split('/').any(|part| part == "..") {
        return refused("leads out of the folder");
    }
    let odd = |c: char| c.is_control() || matches!(c, '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|');
    if name.contains(odd) || name.trim_end_matches('/').split('/').any(|part| part.is_empty() || part == ".") {
        return refused("is no plain name of a file");
    }
    Ok(name.to_owned())
}

fn kind(of: EntryType) -> &'static str {
    match of {
        EntryType::Link => "a hard link",
        EntryType::Symlink => "a symbolic link",
        EntryType::Char | EntryType::Block => "a device",
        EntryType::Fifo => "a pipe",
        EntryType::Directory => "a folder of its own",
        _ => "of an unknown kind",
    }
}

/// A reader that stops at a count, however small the file that it reads from.
struct Counted<R> {
    inner: R,
    left: u64,
}

impl<R: Read> Read for Counted<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let read = self.inner.read(into)?;
        self.left = self.left.checked_sub(read as u64).ok_or(io::ErrorKind::FileTooLarge)?;
        Ok(read)
    }
}
