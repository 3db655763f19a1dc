//! A small seeded generator, kept here so that no layout changes because a library changed its stream.
//!
//! A counter stepped by the golden ratio of 2⁶⁴ and mixed by two multiplications (Steele, Lea, Flood, "Fast splittable
//! pseudorandom number generators", OOPSLA 2014).

/// The state: a counter.
#[derive(Debug, Clone)]
pub(super) struct Random(u64);

impl Random {
    pub(super) fn new(seed: u64) -> Random {
        let mut random = Random(seed);
        random.0 = random.bits();
        random
    }

    /// 64 bits.
    #[inline]
    pub(super) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Uniform in 0 to under 1.
    #[inline]
    pub(super) fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform from `low` to `high`.
    #[inline]
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number under `n`; 0 when `n` is 0.
    #[inline]
    pub(super) fn below(&mut self, n: usize) -> usize {
        (((self.bits() >> 32) * n as u64) >> 32) as usize
    }

    /// Roughly normal with mean 0 and deviation 1: a sum of six uniforms has variance 1/2.
    pub(super) fn normal(&mut self) -> f64 {
        let sum: f64 = (0..6).map(|_| self.unit()).sum();
        (sum - 3.0) * std::f64::consts::SQRT_2
    }

    /// Brings a slice into random order.
    pub(super) fn shuffle<T>(&mut self, all: &mut [T]) {
        for i in (1..all.len()).rev() {
            all.swap(i, self.below(i + 1));
        }
    }
}
