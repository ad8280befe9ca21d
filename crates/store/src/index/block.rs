//! A piece of a thing's history: the sequences of its entries, close together. The first stands in the key, the value
//! holds the steps to the next ones, seven bits a byte, the last byte of a step below 128 (LEB128).

use super::value::seq_at_end;
use coilwright_shop::entry::Seq;

/// A block is closed when its value is this long: some 250 entries of a thing that is much used, 100 of another.
const FULL: usize = 256;

/// A block that may still grow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Block {
    /// Its key.
    pub place: Vec<u8>,
    /// Its value.
    pub steps: Vec<u8>,
    last: Seq,
}

impl Block {
    /// A new one, beginning with this sequence.
    pub(super) fn begin(prefix: &[u8], seq: Seq) -> Self {
        Self { place: [prefix, &seq.to_be_bytes()].concat(), steps: Vec::new(), last: seq }
    }

    /// One that was read; `None` if its steps are none.
    pub(super) fn read(place: &[u8], steps: &[u8]) -> Option<Self> {
        let last = *seqs(place, steps)?.last()?;
        Some(Self { place: place.to_vec(), steps: steps.to_vec(), last })
    }

    /// Whether this sequence was put in; not if it is full. One that is there already is passed over.
    pub(super) fn takes(&mut self, seq: Seq) -> bool {
        let Some(mut step) = seq.checked_sub(self.last) else { return false };
        if self.steps.len() >= FULL {
            return false;
        }
        if step > 0 {
            while step >= 0x80 {
                self.steps.push(u8::try_from(step & 0x7f).unwrap_or(0) | 0x80);
                step >>= 7;
            }
            self.steps.push(u8::try_from(step).unwrap_or(0));
            self.last = seq;
        }
        true
    }
}

/// All sequences of a block, in order; `None` if its bytes are none.
pub(super) fn seqs(place: &[u8], steps: &[u8]) -> Option<Vec<Seq>> {
    let mut last = seq_at_end(place)?;
    let mut seqs = vec![last];
    let (mut step, mut shift) = (0u64, 0u32);
    for byte in steps {
        step |= u64::from(byte & 0x7f).checked_shl(shift)?;
        shift += 7;
        if *byte < 0x80 {
            last = last.checked_add(step)?;
            seqs.push(last);
            (step, shift) = (0, 0);
        }
    }
    (shift == 0).then_some(seqs)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sequences_come_out_as_they_were_put_in() {
        let all = [1, 2, 129, 130, 16_513, 16_514, 2_097_666, 1 << 40, u64::MAX - 1, u64::MAX];
        let mut block = Block::begin(b"h", all[0]);
        for seq in &all {
            assert!(block.takes(*seq));
        }
        assert_eq!(seqs(&block.place, &block.steps).unwrap(), all);
        assert_eq!(Block::read(&block.place, &block.steps), Some(block.clone()));
        // 1 and 1 and 127 take one byte; 16 383 and 2 081 152 two and three.
        assert_eq!(&block.steps[..6], [1, 127, 1, 0xff, 0x7f, 1]);
    }

    #[test]
    fn a_full_block_and_an_earlier_sequence_are_not_taken() {
        let mut block = Block::begin(b"h", 5);
        assert!(!block.takes(4));
        let taken = (6..10_000).take_while(|seq| block.takes(*seq)).count();
        assert_eq!(taken, FULL);
        assert!(!block.takes(20_000));
    }

    #[test]
    fn bytes_that_are_no_steps_are_seen() {
        let place = Block::begin(b"h", u64::MAX).place;
        assert_eq!(seqs(&place, &[0x80]), None);
        assert_eq!(seqs(&place, &[1]), None);
        assert_eq!(seqs(b"short", &[]), None);
        assert_eq!(seqs(&Block::begin(b"h", 1).place, &[0xff; 12]), None);
    }
}
