//! Numbers that look random and are always the same.

/// A stream of numbers (SplitMix64: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014; the
/// constants from memory).
pub(crate) struct Dice(u64);

impl Dice {
    /// The stream of one file of one variant.
    pub(crate) fn new(variant: u64, file: u32) -> Self {
        let mut dice = Self(variant.wrapping_mul(0xd134_2543_de82_ef95) ^ u64::from(file));
        // Files that stand side by side must not begin alike.
        dice.0 = dice.next().wrapping_add(u64::from(file) << 32);
        dice
    }

    /// Another stream, which leaves this one as it would be without it.
    pub(crate) fn branch(&mut self) -> Self {
        Self(self.next())
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number from `low` to `high`, both included.
    pub(crate) fn between(&mut self, low: u32, high: u32) -> u32 {
        low + (self.next() % u64::from(high - low + 1)) as u32
    }

    /// True in `percent` of a hundred throws.
    pub(crate) fn chance(&mut self, percent: u32) -> bool {
        self.between(1, 100) <= percent
    }

    /// One of several.
    pub(crate) fn pick<T: Copy>(&mut self, among: &[T]) -> T {
        among[self.between(0, among.len() as u32 - 1) as usize]
    }
}
