//! What the tests of the record share.

/// The bytes of a text in hexadecimal.
pub(crate) fn bytes(hexadecimal: &str) -> Vec<u8> {
    let digits = |pair: &[u8]| {
        let pair = std::str::from_utf8(pair).expect("digits");
        u8::from_str_radix(pair, 16).expect("hexadecimal")
    };
    hexadecimal.as_bytes().chunks(2).map(digits).collect()
}
