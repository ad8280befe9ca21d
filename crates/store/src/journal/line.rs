//! One line of the journal: its frame, its hash, its place in the chain.

use coilwright_shop::entry::{Entry, Seq};
use sha2::{Digest, Sha256};
use std::fmt;

/// A longer line is never written: 1 MiB.
pub(crate) const MAX_LINE: usize = 1 << 20;

const HASH_TAIL: usize = 75; // ,"hash":"<64>"}
const PREV_TAIL: usize = 74; // ,"prev":"<64>"

/// A SHA-256.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash(pub [u8; 32]);

/// A place in the chain: the sequence of an entry and the hash of its line.
///
/// Before the first entry: sequence 0 and the journal's id.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Head {
    /// Sequence of the last entry.
    pub seq: Seq,
    /// Hash of its line.
    pub hash: Hash,
}

/// A line as it stands in the journal, checked against its own hash.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// Sequence and hash of this line.
    pub head: Head,
    /// Hash of the line before.
    pub prev: Hash,
    /// The bytes, without the newline.
    pub bytes: Vec<u8>,
}

impl Line {
    /// The entry that the line holds.
    ///
    /// # Errors
    ///
    /// If the bytes are no entry that this program knows, though their hash holds.
    pub fn entry(&self) -> Result<Entry, serde_json::Error> {
        serde_json::from_slice(&self.bytes)
    }
}

impl Hash {
    /// Of these bytes.
    pub(crate) fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// From 64 lower-case hexadecimal digits.
    pub(crate) fn from_hex(text: &[u8]) -> Option<Self> {
        let mut out = [0; 32];
        if text.len() != 64 {
            return None;
        }
        for (byte, pair) in out.iter_mut().zip(text.chunks_exact(2)) {
            *byte = digit(*pair.first()?)? << 4 | digit(*pair.get(1)?)?;
        }
        Some(Self(out))
    }
}

fn digit(c: u8) -> Option<u8> {
    match c {
        b'0'..=b'9' => Some(c - b'0'),
        b'a'..=b'f' => Some(c - b'a' + 10),
        _ => None,
    }
}

/// Lower-case hexadecimal.
pub(crate) fn hex(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len() * 2);
    for byte in bytes {
        for half in [byte >> 4, byte & 15] {
            text.push(char::from(if half < 10 { b'0' + half } else { b'a' + half - 10 }));
        }
    }
    text
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex(&self.0))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// The members of an entry as they will be hashed, without `prev`, `hash` and the closing brace.
///
/// # Errors
///
/// If the entry has no JSON (never seen for the types we write).
pub(crate) fn open_line(entry: &Entry) -> Result<Vec<u8>, serde_json::Error> {
    let mut bytes = serde_json::to_vec(entry)?;
    bytes.pop();
    Ok(bytes)
}

/// Whether a line of this entry would be short enough.
pub(crate) fn fits(open: &[u8]) -> bool {
    open.len() + PREV_TAIL + HASH_TAIL < MAX_LINE
}

/// Adds `prev`, `hash`, brace and newline to an [`open_line`] and puts it at the end of `out`; returns the hash.
pub(crate) fn close_line(open: &[u8], prev: Hash, out: &mut Vec<u8>) -> Hash {
    let start = out.len();
    out.extend_from_slice(open);
    out.extend_from_slice(format!(",\"prev\":\"{prev}\"").as_bytes());
    let hash = Hash::of(out.get(start..).unwrap_or_default());
    out.extend_from_slice(format!(",\"hash\":\"{hash}\"}}\n").as_bytes());
    hash
}

/// What is known of a line without parsing its JSON.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Frame {
    pub seq: Seq,
    pub version: u64,
    pub group: Seq,
    pub prev: Hash,
    pub hash: Hash,
}

impl Frame {
    /// Reads a line (without newline) and checks its hash: `None` is a line that is not good.
    pub(crate) fn of(line: &[u8]) -> Option<Self> {
        let hashed = line.len().checked_sub(HASH_TAIL)?;
        let (body, tail) = line.split_at_checked(hashed)?;
        let hash = Hash::from_hex(tail.strip_prefix(b",\"hash\":\"")?.strip_suffix(b"\"}")?)?;
        let (_, prev) = body.split_at_checked(body.len().checked_sub(PREV_TAIL)?)?;
        let prev = Hash::from_hex(prev.strip_prefix(b",\"prev\":\"")?.strip_suffix(b"\"")?)?;
        let rest = body.strip_prefix(b"{\"seq\":")?;
        let (seq, rest) = number(rest)?;
        let (version, rest) = number(rest.strip_prefix(b",\"v\":")?)?;
        let (group, _) = number(rest.strip_prefix(b",\"group\":")?)?;
        (Hash::of(body) == hash).then_some(Self { seq, version, group, prev, hash })
    }

    /// The sequence a line claims, unchecked: for finding a place, never for believing.
    pub(crate) fn claimed_seq(line: &[u8]) -> Option<Seq> {
        number(line.strip_prefix(b"{\"seq\":")?).map(|(seq, _)| seq)
    }

    pub(crate) fn head(&self) -> Head {
        Head { seq: self.seq, hash: self.hash }
    }

    /// Whether this line stands right after `head`.
    pub(crate) fn follows(&self, head: Head) -> bool {
        Some(self.seq) == head.seq.checked_add(1) && self.prev == head.hash
    }
}

/// Decimal digits at the start, and what comes after them.
fn number(text: &[u8]) -> Option<(u64, &[u8])> {
    let digits = text.iter().take_while(|c| c.is_ascii_digit()).count();
    let (number, rest) = text.split_at_checked(digits)?;
    Some((std::str::from_utf8(number).ok()?.parse().ok()?, rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    const OPEN: &[u8] = br#"{"seq":7,"v":1,"group":6,"answer":{"x":1}"#;

    fn closed() -> Vec<u8> {
        let mut out = Vec::new();
        close_line(OPEN, Hash([9; 32]), &mut out);
        out.pop();
        out
    }

    #[test]
    fn a_closed_line_is_good_and_says_where_it_stands() {
        let frame = Frame::of(&closed()).unwrap();
        assert_eq!((frame.seq, frame.version, frame.group, frame.prev), (7, 1, 6, Hash([9; 32])));
        assert!(frame.follows(Head { seq: 6, hash: Hash([9; 32]) }));
        assert!(!frame.follows(Head { seq: 6, hash: Hash([8; 32]) }));
        assert!(!frame.follows(Head { seq: 5, hash: Hash([9; 32]) }));
    }

    #[test]
    fn every_flipped_bit_of_a_line_is_seen() {
        let line = closed();
        for bit in 0..line.len() * 8 {
            let mut bad = line.clone();
            bad[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(Frame::of(&bad), None, "bit {bit}");
        }
    }

    #[test]
    fn every_shortened_line_is_seen() {
        let line = closed();
        for length in 0..line.len() {
            assert_eq!(Frame::of(&line[..length]), None, "first {length} bytes");
        }
    }

    #[test]
    fn the_hash_is_the_sha256_of_the_bytes_before_it() {
        // Known answer of SHA-256 from FIPS 180-2, appendix B.1: the message "abc".
        assert_eq!(Hash::of(b"abc").to_string(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        let line = closed();
        let text = std::str::from_utf8(&line).unwrap();
        let (before, after) = text.split_once(",\"hash\":\"").unwrap();
        assert_eq!(Hash::of(before.as_bytes()).to_string(), after.trim_end_matches("\"}"));
    }
}
