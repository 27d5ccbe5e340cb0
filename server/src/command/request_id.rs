//! Request ids of commands: UUIDs (RFC 9562).

use ring::rand::{SecureRandom, SystemRandom};
use sha2::{Digest, Sha256};

use crate::ending::CommandError;

/// The version of a UUID that is random.
const RANDOM: u8 = 4;
/// The version of a UUID whose bytes its maker chooses.
const OF_ITS_MAKER: u8 = 8;

/// A new id: the request is another each time.
///
/// # Errors
/// [`CommandError::OwnFault`] where the machine gives no random bytes.
pub(super) fn new() -> Result<String, CommandError> {
    let mut bytes = [0; 16];
    let filled = SystemRandom::new().fill(&mut bytes);
    filled.map_err(|_| CommandError::own("the system gives no random bytes"))?;
    Ok(uuid(RANDOM, bytes))
}

/// The id of a content: who sends the same again asks for the same again.
pub(super) fn of_content(content: &[u8]) -> String {
    let digest: [u8; 32] = Sha256::digest(content).into();
    let mut bytes = [0; 16];
    for (byte, of_digest) in bytes.iter_mut().zip(digest) {
        *byte = of_digest;
    }
    uuid(OF_ITS_MAKER, bytes)
}

/// The text of a UUID: the version in the upper half of the seventh byte, the variant in the two
/// upper bits of the ninth (RFC 9562, section 4).
fn uuid(version: u8, bytes: [u8; 16]) -> String {
    let mut text = String::new();
    for (place, byte) in bytes.into_iter().enumerate() {
        let byte = match place {
            6 => version << 4 | byte & 0x0f,
            8 => 0x80 | byte & 0x3f,
            _ => byte,
        };
        if matches!(place, 4 | 6 | 8 | 10) {
            text.push('-');
        }
        text.push_str(&format!("{byte:02x}"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of RFC 9562, appendix A.3, whose bytes are those of the text without version
    /// and variant.
    #[test]
    fn version_and_variant_stand_where_the_standard_has_them() {
        let bytes = 0x919108f7_52d1_0320_1bac_f847db4148a8_u128.to_be_bytes();
        assert_eq!(uuid(4, bytes), "919108f7-52d1-4320-9bac-f847db4148a8");
    }

    #[test]
    fn the_same_content_has_the_same_id() {
        assert_eq!(of_content(b"a build"), of_content(b"a build"));
        assert_ne!(of_content(b"a build"), of_content(b"another"));
        assert_ne!(new().expect("an id"), new().expect("an id"));
    }
}
