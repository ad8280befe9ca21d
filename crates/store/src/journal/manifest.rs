//! The two small files beside the segments: which are sealed, and where the journal stood at the last clean stop.

use super::line::{Hash, Head};
use coilwright_shop::entry::Seq;
use serde::{Deserialize, Serialize};

/// The newest format this program knows, and the one it writes.
pub(crate) const FORMAT: u64 = 1;
pub(crate) const MANIFEST: &str = "manifest.json";
pub(crate) const NOTE: &str = "note.json";

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Manifest {
    pub format: u64,
    pub journal: String,
    pub sealed: Vec<Sealed>,
}

/// A segment that will never be written again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Sealed {
    pub first: Seq,
    pub last: Seq,
    pub used: u64,
    pub hash: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Note {
    pub format: u64,
    pub journal: String,
    pub seq: Seq,
    pub hash: String,
}

/// What a small file turned out to be.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Small<T> {
    Good(T),
    Newer(u64),
    Damaged,
}

impl Manifest {
    pub(crate) fn new(journal: Hash) -> Self {
        Self { format: FORMAT, journal: journal.to_string(), sealed: Vec::new() }
    }

    pub(crate) fn journal_hash(&self) -> Option<Hash> {
        Hash::from_hex(self.journal.as_bytes())
    }

    /// Where the sealed segments end; before the first: sequence 0 and the journal's id.
    pub(crate) fn sealed_head(&self) -> Option<Head> {
        match self.sealed.last() {
            Some(last) => last.head(),
            None => Some(Head { seq: 0, hash: self.journal_hash()? }),
        }
    }
}

impl Sealed {
    pub(crate) fn head(&self) -> Option<Head> {
        Some(Head { seq: self.last, hash: Hash::from_hex(self.hash.as_bytes())? })
    }
}

impl Note {
    pub(crate) fn head(&self) -> Option<Head> {
        Some(Head { seq: self.seq, hash: Hash::from_hex(self.hash.as_bytes())? })
    }
}

/// The bytes of a small file: its members and a check over them.
pub(crate) fn sealed_bytes<T: Serialize>(value: &T) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec(value)?;
    bytes.pop();
    let check = Hash::of(&bytes);
    bytes.extend_from_slice(format!(",\"check\":\"{check}\"}}\n").as_bytes());
    Ok(bytes)
}

/// Reads a small file. A newer format wins over everything: a newer program may check differently.
pub(crate) fn read_small<T: for<'a> Deserialize<'a>>(bytes: &[u8]) -> Small<T> {
    #[derive(Deserialize)]
    struct Format {
        format: u64,
    }
    match serde_json::from_slice::<Format>(bytes) {
        Ok(Format { format }) if format > FORMAT => return Small::Newer(format),
        _ => {}
    }
    match checked(bytes) {
        Some(value) => Small::Good(value),
        None => Small::Damaged,
    }
}

fn checked<T: for<'a> Deserialize<'a>>(bytes: &[u8]) -> Option<T> {
    const TAIL: usize = ",\"check\":\"\"}\n".len() + 64;
    let (body, tail) = bytes.split_at_checked(bytes.len().checked_sub(TAIL)?)?;
    let check = Hash::from_hex(tail.strip_prefix(b",\"check\":\"")?.strip_suffix(b"\"}\n")?)?;
    if Hash::of(body) != check {
        return None;
    }
    serde_json::from_slice(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_flipped_bit_of_a_manifest_is_seen() {
        let manifest = Manifest {
            sealed: vec![Sealed { first: 1, last: 4, used: 1000, hash: Hash([1; 32]).to_string() }],
            ..Manifest::new(Hash([7; 32]))
        };
        let bytes = sealed_bytes(&manifest).unwrap();
        assert_eq!(read_small(&bytes), Small::Good(manifest));
        for bit in 0..bytes.len() * 8 {
            let mut bad = bytes.clone();
            bad[bit / 8] ^= 1 << (bit % 8);
            let read: Small<Manifest> = read_small(&bad);
            assert!(!matches!(read, Small::Good(_)), "bit {bit}");
        }
    }

    #[test]
    fn a_newer_format_is_named_even_if_nothing_else_is_understood() {
        let read: Small<Manifest> = read_small(br#"{"format":2,"pages":[]}"#);
        assert_eq!(read, Small::Newer(2));
    }
}
