//! A small seeded generator for tests: the same numbers on every machine and run.
//!
//! Method: splitmix64 (Steele, Lea, Flood: "Fast splittable pseudorandom number generators", OOPSLA 2014; constants
//! from memory).

/// The generator; its field is the state, any seed will do.
pub struct Seeded(pub u64);

impl Seeded {
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 up to, not including, 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A number between two others.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number from 0 up to, not including, `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.bits() % n as u64) as usize
    }

    /// True with this probability.
    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }
}
