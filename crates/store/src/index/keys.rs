//! A piece of the shelf of idempotency keys: uses of keys in the order of their entries, one after the other in a value.
//!
//! A use is `seq` (8) ‖ `at` in milliseconds (8, signed) ‖ digest (32) ‖ length of the key (2) ‖ key. Pieces cost sled a
//! fraction of what a value for each key did; a key that was used before is found by looking through them, the newest first,
//! which is for the few requests that are repeated: [`super::known`] tells the others apart.

use super::KeyUse;
use super::value::{KEYS, key};
use crate::journal::Hash;
use coilwright_shop::entry::Seq;

/// A piece is closed when its value is this long: some 150 keys.
const FULL: usize = 16 << 10;
const FIXED: usize = 8 + 8 + 32 + 2;

/// A use of a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Use<'a> {
    pub used: KeyUse,
    pub at_ms: i64,
    pub text: &'a [u8],
}

/// A piece that may still grow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Piece {
    pub place: Vec<u8>,
    pub bytes: Vec<u8>,
}

impl Piece {
    /// A new one, beginning with this use.
    pub(super) fn begin(first: &Use<'_>) -> Self {
        let mut piece = Self { place: key(KEYS, &[&first.used.seq.to_be_bytes()]), bytes: Vec::new() };
        piece.takes(first);
        piece
    }

    /// Whether this use was put in; not if the piece is full.
    pub(super) fn takes(&mut self, one: &Use<'_>) -> bool {
        let Ok(length) = u16::try_from(one.text.len()) else { return true };
        if self.bytes.len() >= FULL {
            return false;
        }
        self.bytes.extend_from_slice(&one.used.seq.to_be_bytes());
        self.bytes.extend_from_slice(&one.at_ms.to_be_bytes());
        self.bytes.extend_from_slice(&one.used.digest.0);
        self.bytes.extend_from_slice(&length.to_be_bytes());
        self.bytes.extend_from_slice(one.text);
        true
    }
}

/// All uses in a piece, in order; `None` if its bytes are none.
pub(super) fn uses(mut bytes: &[u8]) -> Option<Vec<Use<'_>>> {
    let mut all = Vec::new();
    while !bytes.is_empty() {
        let (fixed, rest) = bytes.split_first_chunk::<FIXED>()?;
        let (seq, after) = fixed.split_first_chunk::<8>()?;
        let (at, after) = after.split_first_chunk::<8>()?;
        let (digest, length) = after.split_first_chunk::<32>()?;
        let (text, rest) = rest.split_at_checked(usize::from(u16::from_be_bytes(*length.first_chunk()?)))?;
        let used = KeyUse { seq: Seq::from_be_bytes(*seq), digest: Hash(*digest) };
        all.push(Use { used, at_ms: i64::from_be_bytes(*at), text });
        bytes = rest;
    }
    Some(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(seq: Seq, text: &[u8]) -> Use<'_> {
        Use { used: KeyUse { seq, digest: Hash([7; 32]) }, at_ms: -1, text }
    }

    #[test]
    fn uses_come_out_as_they_were_put_in() {
        let all = [one(1, b"monday"), one(2, b""), one(u64::MAX, &[0xff; 200])];
        let mut piece = Piece::begin(&all[0]);
        assert!(piece.takes(&all[1]) && piece.takes(&all[2]));
        assert_eq!(uses(&piece.bytes).unwrap(), all);
        assert_eq!(piece.place, [&[KEYS][..], &1u64.to_be_bytes()].concat());
    }

    #[test]
    fn a_full_piece_takes_no_more_and_bytes_that_are_none_are_seen() {
        let mut piece = Piece::begin(&one(1, b"key"));
        let taken = (2..10_000).take_while(|seq| piece.takes(&one(*seq, b"key"))).count();
        assert_eq!(1 + taken, FULL.div_ceil(FIXED + 3));
        assert_eq!(uses(&piece.bytes[..piece.bytes.len() - 1]), None);
        assert_eq!(uses(&[1; 20]), None);
    }
}
