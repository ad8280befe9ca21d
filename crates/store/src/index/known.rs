//! Which keys may have been used: a filter that knows all of them and now and then one more.
//!
//! Nearly every key is new, and looking that up in sled cost the writer more than anything else it does but the sync.

use std::hash::{DefaultHasher, Hasher};
use std::sync::atomic::{AtomicU64, Ordering};

/// 1 MiB. With the 100,000 keys that are kept at least, one new key in 100,000 is looked for in vain; keys that are
/// forgotten stay in it until the next start.
const WORDS: usize = 1 << 17;
/// Bits for each key.
const BITS: u32 = 4;

pub(super) struct Known(Box<[AtomicU64]>);

impl Default for Known {
    fn default() -> Self {
        Self((0..WORDS).map(|_| AtomicU64::new(0)).collect())
    }
}

impl Known {
    /// Notes a key.
    pub(super) fn note(&self, key: &[u8]) {
        for (word, bit) in self.places(key) {
            word.fetch_or(bit, Ordering::Relaxed);
        }
    }

    /// `false`: this key was never noted.
    pub(super) fn may_hold(&self, key: &[u8]) -> bool {
        self.places(key).all(|(word, bit)| word.load(Ordering::Relaxed) & bit != 0)
    }

    fn places(&self, key: &[u8]) -> impl Iterator<Item = (&AtomicU64, u64)> {
        let mut hasher = DefaultHasher::new();
        hasher.write(key);
        let hash = hasher.finish();
        (0..BITS).filter_map(move |i| {
            let part = hash.rotate_right(i * 16) & 0xff_ffff;
            let word = usize::try_from(part >> 6).unwrap_or(0) % WORDS;
            self.0.get(word).map(|word| (word, 1 << (part & 63)))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_noted_is_known_and_little_else() {
        let known = Known::default();
        let key = |i: u32| format!("a key {i}");
        (0..100_000).for_each(|i| known.note(key(i).as_bytes()));
        assert!((0..100_000).all(|i| known.may_hold(key(i).as_bytes())));
        // (1 - e^(-4·100000/2^23))^4 = 5e-6, Bloom's formula, common knowledge; places that share bits of a hash make it more.
        let wrong = (100_000..200_000).filter(|i| known.may_hold(key(*i).as_bytes())).count();
        assert!(wrong < 20, "{wrong} of 100000");
    }
}
