//! A body with the salt of its commitment: together they are kept, and together sealed.

use zeroize::Zeroizing;

use crate::audit::leaf::{Salt, SaltError, body_commitment};
use crate::audit::merkle::Hash;

/// A body with a salt, and the commitment to both. Whoever makes an entry works it out, so that
/// the one task that writes need not.
#[derive(Clone)]
pub struct SaltedBody {
    bytes: Zeroizing<Vec<u8>>,
    commitment: Hash,
}

impl SaltedBody {
    /// A body, in the canonical encoding, with a new salt.
    ///
    /// # Errors
    /// [`SaltError`].
    pub fn new(body: Vec<u8>) -> Result<Self, SaltError> {
        let body = Zeroizing::new(body);
        let salt = Salt::generate()?;
        let mut bytes = Zeroizing::new(Vec::with_capacity(Salt::BYTES + body.len()));
        bytes.extend_from_slice(&salt.0);
        bytes.extend_from_slice(&body);
        let commitment = body_commitment(&salt, &body);
        Ok(SaltedBody { bytes, commitment })
    }

    /// The salt, then the body.
    pub(super) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The commitment to them.
    pub(super) fn commitment(&self) -> Hash {
        self.commitment
    }
}

/// Salt and body apart.
pub(super) fn apart(content: &[u8]) -> Option<(Salt, Zeroizing<Vec<u8>>)> {
    let (salt, body) = content.split_first_chunk()?;
    Some((Salt(*salt), Zeroizing::new(body.to_vec())))
}
