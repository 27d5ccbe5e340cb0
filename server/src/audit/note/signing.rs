//! The secret half of a key. It is shown nowhere: not by `Debug`, not in an error.

use std::fmt;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use ring::rand::{SecureRandom, SystemRandom};
use ring::signature::{Ed25519KeyPair, KeyPair};
use zeroize::{Zeroize, Zeroizing};

use super::fault::KeyFault;
use super::verifier::{KIND_ED25519, VerifierKey, parse_id};

/// What the text of a private key begins with.
const PREFIX: &str = "PRIVATE+KEY+";

/// An Ed25519 key that signs.
pub struct SigningKey {
    verifier: VerifierKey,
    pair: Ed25519KeyPair,
    seed: Zeroizing<[u8; 32]>,
}

impl SigningKey {
    /// A new key, of the system's randomness.
    ///
    /// # Errors
    /// [`KeyFault::Name`], [`KeyFault::NoRandomness`].
    pub fn generate(name: &str) -> Result<Self, KeyFault> {
        let mut seed = Zeroizing::new([0; 32]);
        SystemRandom::new()
            .fill(seed.as_mut_slice())
            .map_err(|_| KeyFault::NoRandomness)?;
        SigningKey::of_seed(name, seed)
    }

    /// The key of a seed of 32 bytes (RFC 8032 section 5.1.5).
    ///
    /// # Errors
    /// [`KeyFault::Name`].
    pub fn of_seed(name: &str, seed: Zeroizing<[u8; 32]>) -> Result<Self, KeyFault> {
        let pair =
            Ed25519KeyPair::from_seed_unchecked(seed.as_slice()).map_err(|_| KeyFault::Material)?;
        let public = pair.public_key().as_ref();
        let public = public.try_into().map_err(|_| KeyFault::Material)?;
        let verifier = VerifierKey::new(name, public)?;
        Ok(SigningKey {
            verifier,
            pair,
            seed,
        })
    }

    /// The key of its text, `PRIVATE+KEY+NAME+ID+BASE64`.
    ///
    /// # Errors
    /// [`KeyFault`].
    pub fn parse(text: &str) -> Result<Self, KeyFault> {
        let Some(rest) = text.strip_prefix(PREFIX) else {
            let is_public = text.parse::<VerifierKey>().is_ok();
            return Err(if is_public {
                KeyFault::NotPrivate
            } else {
                KeyFault::PrivateForm
            });
        };
        let (name, rest) = rest.split_once('+').ok_or(KeyFault::PrivateForm)?;
        let (id, base64) = rest.split_once('+').ok_or(KeyFault::PrivateForm)?;
        let stated = parse_id(id).ok_or(KeyFault::PrivateForm)?;
        let material = STANDARD.decode(base64).map_err(|_| KeyFault::Material)?;
        let material = Zeroizing::new(material);
        let (kind, seed) = material.split_first().ok_or(KeyFault::Material)?;
        if *kind != KIND_ED25519 {
            return Err(KeyFault::Kind(*kind));
        }
        let seed = seed.try_into().map_err(|_| KeyFault::Material)?;
        let mut key = SigningKey::of_seed(name, Zeroizing::new(seed))?;
        key.verifier = key.verifier.with_id(stated)?;
        Ok(key)
    }

    /// The text that [`SigningKey::parse`] reads: a secret.
    pub fn secret_text(&self) -> Zeroizing<String> {
        let mut material = Zeroizing::new([0; 33]);
        for (to, from) in material
            .iter_mut()
            .zip(std::iter::once(&KIND_ED25519).chain(self.seed.iter()))
        {
            *to = *from;
        }
        let mut base64 = STANDARD.encode(material.as_slice());
        let (name, id) = (self.verifier.name(), self.verifier.id());
        let text = Zeroizing::new(format!("{PREFIX}{name}+{id:08x}+{base64}"));
        base64.zeroize();
        text
    }

    /// The public half.
    pub fn verifier(&self) -> &VerifierKey {
        &self.verifier
    }

    /// Signs a message: 64 bytes, the same each time.
    pub fn sign(&self, message: &[u8]) -> Vec<u8> {
        self.pair.sign(message).as_ref().to_vec()
    }
}

impl fmt::Debug for SigningKey {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter
            .debug_struct("SigningKey")
            .field("verifier", &self.verifier)
            .finish_non_exhaustive()
    }
}
