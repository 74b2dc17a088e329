//! Chance that can be repeated.

/// Numbers that are the same on every machine (Knuth's MMIX multiplier and increment).
pub struct Dice(pub u64);

impl Dice {
    /// A number below `sides`.
    pub fn roll(&mut self, sides: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from((self.0 >> 33) % u64::try_from(sides).unwrap()).unwrap()
    }

    /// One of several.
    pub fn of<T: Clone>(&mut self, among: &[T]) -> T {
        among[self.roll(among.len())].clone()
    }
}
