//! Bodies under their subjects' keys: AES-256 in Galois/Counter Mode (NIST SP 800-38D), with a
//! random nonce of 96 bits for each body and the leaf's commitment as what is authenticated with
//! it.

use ring::aead::{AES_256_GCM, Aad, LessSafeKey, NONCE_LEN, Nonce, UnboundKey};
use zeroize::Zeroizing;

use super::fault::StoreError;
use super::salted::{SaltedBody, apart};
use crate::audit::leaf::Salt;
use crate::audit::merkle::Hash;
use crate::wiped::WipedBytes;

/// The key of a subject.
pub(super) type SubjectKey = Zeroizing<[u8; 32]>;
/// The length of a nonce.
pub(super) const NONCE_BYTES: usize = NONCE_LEN;

/// A sealed body.
pub(super) struct Sealed {
    pub(super) nonce: [u8; NONCE_BYTES],
    pub(super) content: Vec<u8>,
}

/// Seals salt and body, with a nonce of its own.
pub(super) fn seal(
    key: &SubjectKey,
    nonce: [u8; NONCE_BYTES],
    body: &SaltedBody,
) -> Result<Sealed, StoreError> {
    let mut content = Vec::with_capacity(body.bytes().len() + AES_256_GCM.tag_len());
    content.extend_from_slice(body.bytes());
    cipher(key)?
        .seal_in_place_append_tag(
            Nonce::assume_unique_for_key(nonce),
            Aad::from(body.commitment().as_bytes()),
            &mut content,
        )
        .map_err(|_| StoreError::NoRandomness)?;
    Ok(Sealed { nonce, content })
}

/// Salt and body again; `None` where they are not what was sealed.
pub(super) fn open(
    key: &SubjectKey,
    commitment: Hash,
    nonce: &[u8; NONCE_BYTES],
    sealed: Vec<u8>,
) -> Option<(Salt, WipedBytes)> {
    let mut content = WipedBytes(sealed);
    let nonce = Nonce::assume_unique_for_key(*nonce);
    let opened = cipher(key)
        .ok()?
        .open_in_place(nonce, Aad::from(commitment.as_bytes()), &mut content)
        .ok()?
        .len();
    content.truncate(opened);
    apart(content)
}

fn cipher(key: &SubjectKey) -> Result<LessSafeKey, StoreError> {
    // A key of 32 bytes is a key of AES-256.
    let key =
        UnboundKey::new(&AES_256_GCM, key.as_slice()).map_err(|_| StoreError::NoRandomness)?;
    Ok(LessSafeKey::new(key))
}
