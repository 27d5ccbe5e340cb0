//! The keys that a verifier trusts, each with the sizes of the log at which it signed.
//!
//! As text a ring is a line for each key: the verifier key, then where need be `from` and `to` with
//! the first and the last size of the log that it signs. Blank lines and lines with `#` at their
//! head say nothing. A file with a verifier key alone is a ring of one key that signs any size.
//!
//! When a key is changed the old one stays in the ring up to the size of the change, so that its
//! checkpoints still count; what it signs for a larger log does not, since it may be in others'
//! hands by then.

use std::fmt::{self, Write};

use super::fault::KeyFault;
use super::signed::SignedNote;
use super::verifier::VerifierKey;

/// A key of a ring.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RingKey {
    /// The key.
    pub key: VerifierKey,
    /// The smallest log that it signs.
    pub first: u64,
    /// The largest log that it signs; none while it is in use.
    pub last: Option<u64>,
}

/// Verifier keys with the sizes that they sign.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeyRing(Vec<RingKey>);

/// What is wrong with the text of a ring.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KeyRingFault {
    /// A key that is none.
    #[error("line {line}: {fault}")]
    Key {
        /// The line, counted from 1.
        line: usize,
        /// What is wrong with the key.
        fault: KeyFault,
    },
    /// Something else after the key.
    #[error("line {line}: after the key stand only `from SIZE` and `to SIZE`, the first no larger")]
    Sizes {
        /// The line, counted from 1.
        line: usize,
    },
    /// The key is there twice.
    #[error("line {line}: the key `{name}` of id {id:08x} is there twice")]
    Twice {
        /// The line, counted from 1.
        line: usize,
        /// The key's name.
        name: String,
        /// The key's id.
        id: u32,
    },
    /// There is no key at all.
    #[error("there is no key; a verifier key is written NAME+ID+BASE64")]
    Empty,
}

/// Why a note is not trusted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TrustFault {
    /// Nobody signed it whom the ring knows.
    #[error("not signed by a key that is trusted; it is signed by {}", names(.0))]
    NoKnownSignature(Vec<(String, u32)>),
    /// A signature under a known key's name that is not its.
    #[error("the signature of `{name}` (key {id:08x}) is wrong: the note was changed or forged")]
    WrongSignature {
        /// The key's name.
        name: String,
        /// The key's id.
        id: u32,
    },
    /// Signed by a key that does not sign logs of this size.
    #[error("signed by `{name}` (key {id:08x}), which signs {sizes}, and not a log of {size}")]
    OutsideSizes {
        /// The key's name.
        name: String,
        /// The key's id.
        id: u32,
        /// What it signs, in words.
        sizes: String,
        /// The size of the log.
        size: u64,
    },
}

fn names(keys: &[(String, u32)]) -> String {
    let shown: Vec<String> = keys
        .iter()
        .map(|(name, id)| format!("`{name}` (key {id:08x})"))
        .collect();
    shown.join(", ")
}

impl KeyRing {
    /// A ring of one key, which signs any size.
    pub fn of(key: VerifierKey) -> Self {
        KeyRing(vec![RingKey {
            key,
            first: 0,
            last: None,
        }])
    }

    /// Reads the text of a ring.
    ///
    /// # Errors
    /// Every [`KeyRingFault`].
    pub fn parse(text: &str) -> Result<Self, Vec<KeyRingFault>> {
        let mut keys: Vec<RingKey> = Vec::new();
        let mut faults = Vec::new();
        for (index, written) in text.lines().enumerate() {
            let line = index + 1;
            let written = written.trim();
            if written.is_empty() || written.starts_with('#') {
                continue;
            }
            match parse_key(written, line) {
                Ok(key) if keys.iter().any(|other| other.key == key.key) => {
                    faults.push(KeyRingFault::Twice {
                        line,
                        name: key.key.name().to_owned(),
                        id: key.key.id(),
                    });
                }
                Ok(key) => keys.push(key),
                Err(fault) => faults.push(fault),
            }
        }
        if keys.is_empty() && faults.is_empty() {
            faults.push(KeyRingFault::Empty);
        }
        if faults.is_empty() {
            Ok(KeyRing(keys))
        } else {
            Err(faults)
        }
    }

    /// The keys, in their order.
    pub fn keys(&self) -> &[RingKey] {
        &self.0
    }

    /// Puts a new key in use for a log of `size` records and more. Those in use until now sign up
    /// to that size, so that both may sign the checkpoint at which the key is changed.
    pub fn change(&mut self, key: VerifierKey, size: u64) {
        for old in &mut self.0 {
            old.last = old.last.or(Some(size));
        }
        self.0.push(RingKey {
            key,
            first: size,
            last: None,
        });
    }

    /// The keys of the ring that signed a note of a log of `size` records: one at least. Signatures
    /// of other keys are passed over.
    ///
    /// # Errors
    /// [`TrustFault`].
    pub fn verify(&self, note: &SignedNote, size: u64) -> Result<Vec<&VerifierKey>, TrustFault> {
        let mut signers = Vec::new();
        let mut outside = None;
        for signature in note.signatures() {
            let named = |ring_key: &&RingKey| {
                let key = &ring_key.key;
                key.name() == signature.name && key.id() == signature.id
            };
            // Two keys of one name and id differ in a collision of 32 bits only: then one is right.
            let known: Vec<&RingKey> = self.0.iter().filter(named).collect();
            if known.is_empty() {
                continue;
            }
            let message = note.text().as_bytes();
            let verifies = |known: &&&RingKey| known.key.verifies(message, &signature.bytes);
            let Some(signer) = known.iter().find(verifies) else {
                return Err(TrustFault::WrongSignature {
                    name: signature.name.clone(),
                    id: signature.id,
                });
            };
            let is_within = signer.first <= size && signer.last.is_none_or(|last| size <= last);
            if is_within {
                signers.push(&signer.key);
            } else {
                outside = Some(TrustFault::OutsideSizes {
                    name: signature.name.clone(),
                    id: signature.id,
                    sizes: signer.sizes(),
                    size,
                });
            }
        }
        if !signers.is_empty() {
            return Ok(signers);
        }
        let named = |signature: &super::NoteSignature| (signature.name.clone(), signature.id);
        Err(outside.unwrap_or_else(|| {
            TrustFault::NoKnownSignature(note.signatures().iter().map(named).collect())
        }))
    }
}

impl fmt::Display for KeyRing {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0
            .iter()
            .try_for_each(|key| writeln!(formatter, "{key}"))
    }
}

impl RingKey {
    fn sizes(&self) -> String {
        match self.last {
            Some(last) => format!("logs of {} to {last} records", self.first),
            None => format!("logs of {} records and more", self.first),
        }
    }
}

impl fmt::Display for RingKey {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut sizes = String::new();
        if self.first > 0 {
            write!(sizes, " from {}", self.first)?;
        }
        if let Some(last) = self.last {
            write!(sizes, " to {last}")?;
        }
        write!(formatter, "{}{sizes}", self.key)
    }
}

fn parse_key(written: &str, line: usize) -> Result<RingKey, KeyRingFault> {
    let mut words = written.split_whitespace();
    let key = words.next().unwrap_or_default();
    let key: VerifierKey = key
        .parse()
        .map_err(|fault| KeyRingFault::Key { line, fault })?;
    let rest: Vec<&str> = words.collect();
    let size = |text: &str| text.parse::<u64>().ok();
    let sizes = match rest.as_slice() {
        [] => Some((0, None)),
        ["from", first] => size(first).map(|first| (first, None)),
        ["to", last] => size(last).map(|last| (0, Some(last))),
        ["from", first, "to", last] => size(first).zip(size(last).map(Some)),
        _ => None,
    };
    match sizes {
        Some((first, last)) if last.is_none_or(|last| first <= last) => {
            Ok(RingKey { key, first, last })
        }
        _ => Err(KeyRingFault::Sizes { line }),
    }
}
