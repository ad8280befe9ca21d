//! The bytes of the index: shelves, keys, values with their checks.

use coilwright_shop::entry::Seq;
use sha2::{Digest, Sha256};

/// Uses of idempotency keys, in pieces.
pub(super) const KEYS: u8 = b'k';
/// What an entry is about.
pub(super) const HISTORY: u8 = b'h';
/// Pieces of the frozen fold.
pub(super) const FOLD: u8 = b'f';
/// The record of what the index is good for.
pub(super) const META: u8 = b'm';

const CHECK: usize = 8;

/// A key on a shelf.
pub(super) fn key(shelf: u8, parts: &[&[u8]]) -> Vec<u8> {
    let mut key = vec![shelf];
    for part in parts {
        key.extend_from_slice(part);
    }
    key
}

/// All keys about a subject begin with this; `None` if the subject cannot be told apart from others.
pub(super) fn history_prefix(subject: &str) -> Option<Vec<u8>> {
    (!subject.contains('\0')).then(|| key(HISTORY, &[subject.as_bytes(), &[0]]))
}

/// The sequence at the end of a key.
pub(super) fn seq_at_end(key: &[u8]) -> Option<Seq> {
    key.last_chunk().map(|bytes| Seq::from_be_bytes(*bytes))
}

/// The value with its check behind it, and the check as a number.
pub(super) fn checked(key: &[u8], value: &[u8]) -> (Vec<u8>, u64) {
    let check = check_of(key, value);
    let mut bytes = Vec::with_capacity(value.len() + CHECK);
    bytes.extend_from_slice(value);
    bytes.extend_from_slice(&check.to_be_bytes());
    (bytes, check)
}

/// The value without its check, and the check; `None` if it does not hold.
pub(super) fn opened<'a>(key: &[u8], bytes: &'a [u8]) -> Option<(&'a [u8], u64)> {
    let (value, check) = bytes.split_last_chunk::<CHECK>()?;
    let check = u64::from_be_bytes(*check);
    (check_of(key, value) == check).then_some((value, check))
}

fn check_of(key: &[u8], value: &[u8]) -> u64 {
    let (shelf, rest) = key.split_at_checked(1).unwrap_or_default();
    let digest = Sha256::new()
        .chain_update(shelf)
        .chain_update(u32::try_from(rest.len()).unwrap_or(u32::MAX).to_be_bytes())
        .chain_update(rest)
        .chain_update(value)
        .finalize();
    digest.first_chunk().map_or(0, |bytes| u64::from_be_bytes(*bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_under_another_key_or_with_a_flipped_bit_is_seen() {
        let here = key(KEYS, &[b"one"]);
        let (bytes, check) = checked(&here, b"value");
        assert_eq!(opened(&here, &bytes), Some((&b"value"[..], check)));
        assert_eq!(opened(&key(KEYS, &[b"two"]), &bytes), None);
        assert_eq!(opened(&key(HISTORY, &[b"one"]), &bytes), None);
        assert_eq!(opened(&key(KEYS, &[b"onev"]), &bytes), None);
        for bit in 0..bytes.len() * 8 {
            let mut bad = bytes.clone();
            bad[bit / 8] ^= 1 << (bit % 8);
            assert_eq!(opened(&here, &bad), None, "bit {bit}");
        }
    }
}
