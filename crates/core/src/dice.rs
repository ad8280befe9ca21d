//! Numbers that look drawn by lot and are fixed by a seed: the same on any machine.

use core::f64::consts::PI;

/// A stream of 64-bit numbers: a counter in steps of the golden ratio, each mixed by two multiplications.
///
/// Not for secrets. Streams of neighbouring seeds are unlike, since the seed is mixed before the first number.
///
/// # Sources
/// G. L. Steele, D. Lea, C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA 2014 (SplitMix64).
#[derive(Debug, Clone)]
pub struct Dice {
    counter: u64,
    second: Option<f64>,
}

/// 2⁶⁴ over the golden ratio, odd.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

fn mixed(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

impl Dice {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Dice {
        Dice { counter: mixed(seed.wrapping_add(STEP)), second: None }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.counter = self.counter.wrapping_add(STEP);
        mixed(self.counter)
    }

    /// A number above 0 and below 1, in steps of 2⁻⁵³.
    pub fn unit(&mut self) -> f64 {
        ((self.bits() >> 12) as f64 + 0.5) / 4_503_599_627_370_496.0
    }

    /// A number of the standard normal distribution, by the polar angle and radius of two uniform ones.
    ///
    /// # Sources
    /// G. E. P. Box, M. E. Muller, Annals of Mathematical Statistics 29 (1958).
    pub fn normal(&mut self) -> f64 {
        if let Some(z) = self.second.take() {
            return z;
        }
        let (radius, angle) = (libm::sqrt(-2.0 * libm::log(self.unit())), 2.0 * PI * self.unit());
        self.second = Some(radius * libm::sin(angle));
        radius * libm::cos(angle)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::enough::normal_probability;

    /// Source: the reference implementation of SplitMix64 with state 1234567 gives these first outputs (widely reprinted,
    /// also as the test values of several libraries).
    #[test]
    fn the_stream_is_splitmix64() {
        let mut dice = Dice { counter: 1_234_567, second: None };
        for expected in [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423_u64] {
            assert_eq!(dice.bits(), expected);
        }
    }

    #[test]
    fn a_seed_fixes_the_stream_and_neighbours_are_unlike() {
        let of = |seed| (0..64).map(|_| 0).scan(Dice::new(seed), |d, _: i32| Some(d.bits())).collect::<Vec<_>>();
        assert_eq!(of(7), of(7));
        let differing: u32 = of(7).iter().zip(of(8)).map(|(a, b)| (a ^ b).count_ones()).sum();
        // 4096 bits, half of them differ: ± 5 standard deviations of √4096/2 = 32.
        assert!((1888..2208).contains(&differing), "{differing}");
    }

    /// Shares below five points against Φ: within 4 standard deviations √(p(1−p)/n) of a sample of 40,000 (seed fixed).
    #[test]
    fn normal_numbers_are_normal() {
        let mut dice = Dice::new(20);
        let drawn: Vec<f64> = (0..40_000).map(|_| dice.normal()).collect();
        for x in [-2.0, -1.0, 0.0, 0.5, 2.5] {
            let p = normal_probability(x);
            let met = drawn.iter().filter(|z| **z < x).count() as f64 / 40_000.0;
            assert!((met - p).abs() < 4.0 * (p * (1.0 - p) / 40_000.0).sqrt(), "{x}: {met} {p}");
        }
    }
}
