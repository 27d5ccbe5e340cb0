//! Contents that are kept by their digests, deflated (RFC 1951): sources and snapshots are text
//! that says the same again and again, and each change of the stock brings a new snapshot.

use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;

/// How hard they are deflated: beyond this, a few per cent of the size cost twice the time.
const LEVEL: u8 = 4;
/// The longest content that is inflated: what bounds the memory that a damaged file takes.
const LONGEST_CONTENT_BYTES: usize = 1 << 28;

/// A content as it is kept.
pub(super) fn pack(content: &[u8]) -> Vec<u8> {
    compress_to_vec(content, LEVEL)
}

/// A content again; `None` where it is none that was kept.
pub(super) fn unpack(kept: &[u8]) -> Option<Vec<u8>> {
    decompress_to_vec_with_limit(kept, LONGEST_CONTENT_BYTES).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_packed_is_unpacked_and_nothing_else() {
        let text = "field 13 measured_loft\nnumber 4 9/1\n".repeat(1000);
        let kept = pack(text.as_bytes());
        assert!(kept.len() * 20 < text.len(), "{} bytes", kept.len());
        assert_eq!(unpack(&kept).as_deref(), Some(text.as_bytes()));
        assert_eq!(unpack(&pack(b"")).as_deref(), Some(b"".as_slice()));
        assert_eq!(unpack(text.as_bytes()), None);
        assert_eq!(unpack(kept.get(..kept.len() / 2).expect("a half")), None);
    }
}
