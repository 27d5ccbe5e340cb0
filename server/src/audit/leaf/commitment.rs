//! Hashes that tell nothing to those who lack a salt or a key.
//!
//! Each begins with words of its own, so that no hash of one sort is ever one of another.

use std::fmt;

use ring::hmac;
use ring::rand::{SecureRandom, SystemRandom};
use sha2::{Digest, Sha256};

use super::super::merkle::Hash;

const BODY: &[u8] = b"loftwright body 1\n";
const SUBJECT: &[u8] = b"loftwright subject 1\n";
const REQUEST_ID: &[u8] = b"loftwright request id 1\n";

/// 32 random bytes that make a commitment say nothing about what it is of.
#[derive(Clone, PartialEq, Eq)]
pub struct Salt(pub [u8; Salt::BYTES]);

/// The system gives no random bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the system gives no random bytes for a salt")]
pub struct SaltError;

impl Salt {
    /// The length of a salt.
    pub const BYTES: usize = 32;

    /// A new salt, of the system's randomness.
    ///
    /// # Errors
    /// [`SaltError`].
    pub fn generate() -> Result<Self, SaltError> {
        let mut bytes = [0; Salt::BYTES];
        SystemRandom::new()
            .fill(&mut bytes)
            .map_err(|_| SaltError)?;
        Ok(Salt(bytes))
    }
}

impl fmt::Debug for Salt {
    /// Whoever has a salt can try what a commitment is of.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Salt(..)")
    }
}

/// The commitment to a body: SHA-256 of `loftwright body 1`, a line end, the salt and the body.
pub fn body_commitment(salt: &Salt, body: &[u8]) -> Hash {
    salted(BODY, salt, body)
}

/// The commitment to a subject's pseudonym: SHA-256 of `loftwright subject 1`, a line end, the
/// subject's salt and the pseudonym. One salt a subject, so that his records can be told together
/// as long as it is kept.
pub fn subject_commitment(salt: &Salt, subject: &str) -> Hash {
    salted(SUBJECT, salt, subject.as_bytes())
}

/// The hash of a request's id, unique for its principal: HMAC-SHA-256 under a key of the log, of
/// `loftwright request id 1`, a line end, the length of the principal in eight bytes, the
/// principal and the id.
pub fn request_id_hash(key: &[u8; 32], principal: &str, request_id: &str) -> Hash {
    let key = hmac::Key::new(hmac::HMAC_SHA256, key);
    let mut context = hmac::Context::with_key(&key);
    context.update(REQUEST_ID);
    let length = u64::try_from(principal.len()).unwrap_or(u64::MAX);
    context.update(&length.to_be_bytes());
    context.update(principal.as_bytes());
    context.update(request_id.as_bytes());
    let mut hash = Hash([0; Hash::BYTES]);
    for (to, from) in hash.0.iter_mut().zip(context.sign().as_ref()) {
        *to = *from;
    }
    hash
}

fn salted(words: &[u8], salt: &Salt, content: &[u8]) -> Hash {
    let mut hash = Sha256::new();
    hash.update(words);
    hash.update(salt.0);
    hash.update(content);
    Hash(hash.finalize().into())
}
