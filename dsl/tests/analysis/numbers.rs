//! A small generator with a fixed seed: the same tables every time.

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
pub struct Numbers(pub u64);

impl Numbers {
    /// A number below `below`.
    pub fn below(&mut self, below: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        usize::try_from((mixed ^ (mixed >> 31)) % u64::try_from(below).unwrap()).unwrap()
    }

    /// Yes, once in `times`.
    pub fn once_in(&mut self, times: usize) -> bool {
        self.below(times) == 0
    }
}
