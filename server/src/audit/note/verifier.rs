//! The public half of a key: who signs, and how that is checked.

use std::fmt;
use std::str::FromStr;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use ring::signature::{ED25519, UnparsedPublicKey};
use sha2::{Digest, Sha256};

use super::fault::KeyFault;

/// The byte for Ed25519 among the kinds of signatures.
pub(super) const KIND_ED25519: u8 = 0x01;

/// An Ed25519 public key with its name. Its text is `NAME+ID+BASE64`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct VerifierKey {
    name: String,
    id: u32,
    public: [u8; 32],
}

impl VerifierKey {
    /// The key of a name and 32 bytes.
    ///
    /// # Errors
    /// [`KeyFault::Name`].
    pub fn new(name: &str, public: [u8; 32]) -> Result<Self, KeyFault> {
        if !is_key_name(name) {
            return Err(KeyFault::Name);
        }
        Ok(VerifierKey {
            name: name.to_owned(),
            id: key_id(name, &public),
            public,
        })
    }

    /// The name: by habit the log's, such as `skerry-point.example/log`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The first four bytes of SHA-256 of the name, a line end, the kind and the key: it tells keys
    /// of one name apart, and proves nothing.
    pub fn id(&self) -> u32 {
        self.id
    }

    /// Whether `signature` is that of `message` by this key.
    pub fn verifies(&self, message: &[u8], signature: &[u8]) -> bool {
        let key = UnparsedPublicKey::new(&ED25519, &self.public);
        key.verify(message, signature).is_ok()
    }
}

impl fmt::Display for VerifierKey {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut material = vec![KIND_ED25519];
        material.extend(self.public);
        let base64 = STANDARD.encode(material);
        write!(formatter, "{}+{:08x}+{base64}", self.name, self.id)
    }
}

impl FromStr for VerifierKey {
    type Err = KeyFault;

    fn from_str(text: &str) -> Result<Self, KeyFault> {
        if text.starts_with("PRIVATE+KEY+") {
            return Err(KeyFault::NotPublic);
        }
        let form = KeyFault::VerifierForm;
        // Neither a name nor an id has a `+`; base64 may.
        let (name, rest) = text.split_once('+').ok_or(form.clone())?;
        let (id, base64) = rest.split_once('+').ok_or(form.clone())?;
        let stated = parse_id(id).ok_or(form)?;
        let material = STANDARD.decode(base64).map_err(|_| KeyFault::Material)?;
        let (kind, public) = material.split_first().ok_or(KeyFault::Material)?;
        if *kind != KIND_ED25519 {
            return Err(KeyFault::Kind(*kind));
        }
        let public = public.try_into().map_err(|_| KeyFault::Material)?;
        let key = VerifierKey::new(name, public)?;
        key.with_id(stated)
    }
}

impl VerifierKey {
    /// The key, if its id is the one stated.
    pub(super) fn with_id(self, stated: u32) -> Result<Self, KeyFault> {
        if self.id == stated {
            return Ok(self);
        }
        let found = self.id;
        Err(KeyFault::Id { found, stated })
    }
}

/// An id as it is written: eight digits, lower-case.
pub(super) fn parse_id(text: &str) -> Option<u32> {
    let is_digit = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
    let is_id = text.len() == 8 && text.bytes().all(is_digit);
    is_id.then(|| u32::from_str_radix(text, 16).ok()).flatten()
}

pub(super) fn is_key_name(name: &str) -> bool {
    let is_bad =
        |character: char| character == '+' || character.is_whitespace() || character.is_control();
    !name.is_empty() && !name.contains(is_bad)
}

fn key_id(name: &str, public: &[u8; 32]) -> u32 {
    let mut hash = Sha256::new();
    hash.update(name);
    hash.update([b'\n', KIND_ED25519]);
    hash.update(public);
    let bytes: [u8; 32] = hash.finalize().into();
    let [first, second, third, fourth, ..] = bytes;
    u32::from_be_bytes([first, second, third, fourth])
}
