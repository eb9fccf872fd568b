/// A small deterministic stream of numbers (SplitMix64: Steele, Lea, Flood 2014, "Fast splittable pseudorandom number
/// generators", OOPSLA): the same seed gives the same phantom everywhere.
#[derive(Clone, Debug)]
pub(super) struct SplitMix64(u64);

impl SplitMix64 {
    pub(super) fn new(seed: u64) -> Self {
        SplitMix64(seed)
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly in 0 ≤ x < 1.
    pub(super) fn unit(&mut self) -> f64 {
        // The upper 53 bits fill a double's mantissa.
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly in `low` … `high`.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Normal with mean 0 and standard deviation 1 (Box and Muller 1958).
    pub(super) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(1.0 - self.unit())).sqrt();
        radius * libm::cos(core::f64::consts::TAU * self.unit())
    }
}
