//! A small generator with a fixed seed: the same tables every time.

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
pub(crate) struct Numbers(pub(crate) u64);

impl Numbers {
    /// A number below `below`.
    pub(crate) fn below(&mut self, below: usize) -> usize {
        let below = u64::try_from(below).unwrap_or(u64::MAX);
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((mixed ^ (mixed >> 31)) % below).unwrap_or(0)
    }

    /// Yes, once in `times`.
    pub(crate) fn once_in(&mut self, times: usize) -> bool {
        self.below(times) == 0
    }
}
