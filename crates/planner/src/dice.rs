//! Repeatable dice: a stream of numbers fixed by its seed.

/// A xorshift stream with a multiplicative finish; not for secrets.
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    /// The stream of a seed. Neighbouring seeds give unlike streams.
    pub fn new(seed: u64) -> Dice {
        // A state of zero would stay zero.
        let mixed = seed.wrapping_add(0x9e37_79b9_7f4a_7c15).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        Dice((mixed ^ (mixed >> 31)) | 1)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    /// A whole number below `n`; 0 if `n` is 0.
    pub fn below(&mut self, n: usize) -> usize {
        let wide = u128::from(self.bits() >> 1) * n as u128;
        (wide >> 63) as usize
    }

    /// A number from 0 up to 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / 9_007_199_254_740_992.0
    }

    /// True with probability `p`.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_fixes_the_stream_and_covers_its_range() {
        let (mut a, mut b, mut other) = (Dice::new(7), Dice::new(7), Dice::new(8));
        let mut met = [0u32; 6];
        let mut equal = 0;
        for _ in 0..6000 {
            let throw = a.below(6);
            assert_eq!(throw, b.below(6));
            equal += u32::from(throw == other.below(6));
            met[throw] += 1;
        }
        assert!(met.iter().all(|&n| (800..1200).contains(&n)), "{met:?}");
        assert!((800..1200).contains(&equal), "{equal}");
        assert_eq!(a.below(0), 0);
    }
}
