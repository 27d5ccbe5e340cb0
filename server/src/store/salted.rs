//! A body with the salt of its commitment: together they are kept, and together sealed.
//!
//! Whatever of it can be worked out before it takes its place is worked out by whoever makes the
//! entry, so that the one task that writes need not: the commitment, and for a subject of late the
//! sealed content.

use std::sync::Arc;

use super::sealed::Sealed;
use crate::audit::leaf::{Salt, SaltError, body_commitment};
use crate::audit::merkle::Hash;
use crate::wiped::WipedBytes;

/// A body with a salt, and the commitment to both.
#[derive(Clone)]
pub struct SaltedBody {
    bytes: WipedBytes,
    commitment: Hash,
    ready: Option<Ready>,
}

/// What was worked out of an entry with a subject.
#[derive(Clone)]
pub(super) struct Ready {
    /// The subject that it was worked out for.
    pub(super) subject: String,
    /// The hash by which he is found.
    pub(super) subject_hash: Hash,
    /// The body under his key, where he was known.
    pub(super) sealed: Option<ReadySealed>,
}

/// A body under the key of a subject.
#[derive(Clone)]
pub(super) struct ReadySealed {
    /// The subject's number: it stands for this key and this salt for good.
    pub(super) number: i64,
    /// The commitment to the pseudonym.
    pub(super) subject_commitment: Hash,
    /// The content.
    pub(super) body: Arc<Sealed>,
}

impl SaltedBody {
    /// A body, in the canonical encoding, with a new salt.
    ///
    /// # Errors
    /// [`SaltError`].
    pub fn new(body: Vec<u8>) -> Result<Self, SaltError> {
        let body = WipedBytes(body);
        let salt = Salt::generate()?;
        let mut bytes = WipedBytes(Vec::with_capacity(Salt::BYTES + body.len()));
        bytes.extend_from_slice(&salt.0);
        bytes.extend_from_slice(&body);
        let commitment = body_commitment(&salt, &body);
        Ok(SaltedBody {
            bytes,
            commitment,
            ready: None,
        })
    }

    /// The salt, then the body.
    pub(super) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// What was worked out for this subject.
    pub(super) fn ready(&self, subject: &str) -> Option<&Ready> {
        self.ready.as_ref().filter(|ready| ready.subject == subject)
    }

    /// Something was worked out.
    pub(super) fn make_ready(&mut self, ready: Ready) {
        self.ready = Some(ready);
    }

    /// The commitment to them.
    pub(super) fn commitment(&self) -> Hash {
        self.commitment
    }
}

/// Salt and body apart, the body where both were.
pub(super) fn apart(mut content: WipedBytes) -> Option<(Salt, WipedBytes)> {
    let salt = Salt(*content.first_chunk()?);
    content.drain(..Salt::BYTES);
    Some((salt, content))
}
