//! Bytes of which nothing stays in memory.

use std::ops::{Deref, DerefMut};

use zeroize::Zeroize;

/// Bytes that are wiped when they are let go of, and the room after them.
///
/// `Zeroizing<Vec<u8>>` does the same byte by byte, which takes longer than unsealing them.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct WipedBytes(pub Vec<u8>);

impl WipedBytes {
    fn wipe(&mut self) {
        self.0.spare_capacity_mut().zeroize();
        self.0.as_mut_slice().zeroize();
    }
}

impl Drop for WipedBytes {
    fn drop(&mut self) {
        self.wipe();
    }
}

impl Deref for WipedBytes {
    type Target = Vec<u8>;

    fn deref(&self) -> &Vec<u8> {
        &self.0
    }
}

impl DerefMut for WipedBytes {
    fn deref_mut(&mut self) -> &mut Vec<u8> {
        &mut self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_left() {
        let mut bytes = WipedBytes(b"a reading".to_vec());
        bytes.wipe();
        assert_eq!(*bytes, [0; 9]);
    }
}
