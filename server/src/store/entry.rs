//! What is kept, and what is found again.

use std::fmt;
use std::sync::Arc;

use ring::hmac;
use ring::rand::{SecureRandom, SystemRandom};
use zeroize::Zeroizing;

use super::facts::{EntryFacts, Outcome};
use super::fault::StoreError;
use super::salted::SaltedBody;
use crate::audit::leaf::{LeafHeader, Salt, request_id_hash};
use crate::audit::merkle::Hash;
use crate::wiped::WipedBytes;

/// What the keyed hash of a subject begins with.
const SUBJECT_LOOKUP: &[u8] = b"loftwright subject lookup 1\n";
/// What the keyed hash of a request's content begins with.
const REQUEST_CONTENT: &[u8] = b"loftwright request content 1\n";
/// What the keyed hash of a page token begins with.
const PAGE_TOKEN: &[u8] = b"loftwright page token 1\n";

/// What a log is called, and the secret under which it hashes.
#[derive(Clone)]
pub struct LogIdentity {
    /// The name of the log, as its checkpoints and its key have it.
    pub origin: String,
    secret: Zeroizing<[u8; 32]>,
}

/// What is to be kept.
#[derive(Clone)]
pub struct Entry {
    /// What the leaf says in the clear. Its position and the commitment to the subject are set as
    /// it takes its place.
    pub header: LeafHeader,
    /// The pseudonym under whose key the body is sealed; without one the body stays in the clear.
    pub subject: Option<String>,
    /// The body, with the salt of its commitment.
    pub body: SaltedBody,
    /// What makes a retry recognisable.
    pub request: Option<RequestMark>,
    /// What a list says of it.
    pub facts: EntryFacts,
    /// Contents that are kept with it under their SHA-256, each once: sources, snapshots.
    pub blobs: Vec<Arc<[u8]>>,
}

/// What is kept of a request to recognise it: keyed hashes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RequestMark {
    /// The hash of its id, for its principal.
    pub id: Hash,
    /// The hash of all it says.
    pub content: Hash,
}

/// A request that has a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KnownRequest {
    /// The place of its record.
    pub position: u64,
    /// The hash of all it said.
    pub content: Hash,
}

/// What stands beside a leaf and follows from its body.
#[derive(Clone, PartialEq, Eq)]
pub struct Beside {
    /// The keyed hash of its subject, while he is kept.
    pub(crate) subject_hash: Option<Hash>,
    /// The salt of the commitment to him.
    pub(crate) subject_salt: Option<Salt>,
    /// The keyed hash of all that its request said.
    pub(crate) request_content: Option<Hash>,
    /// What lists say of its outcome.
    pub(crate) outcome: Option<Outcome>,
    /// What lists say that it speaks of.
    pub(crate) about: Option<u64>,
}

/// Where an entry went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placed {
    /// It is a new leaf.
    New {
        /// Its place.
        position: u64,
        /// Its hash.
        leaf: Hash,
    },
    /// Its request had a record already, and nothing was kept.
    Known(KnownRequest),
}

/// What is there of a body.
#[derive(Clone, PartialEq, Eq)]
pub enum KeptBody {
    /// All of it.
    Whole {
        /// The salt of its commitment.
        salt: Salt,
        /// The canonical encoding.
        body: WipedBytes,
    },
    /// Its subject's key was destroyed.
    Erased,
    /// There is no leaf at the place.
    NoLeaf,
}

impl LogIdentity {
    /// The identity of a log.
    pub(super) fn new(origin: &str, secret: [u8; 32]) -> Self {
        LogIdentity {
            origin: origin.to_owned(),
            secret: Zeroizing::new(secret),
        }
    }

    /// The mark of a request: of its id, unique for its principal, and of all it says.
    pub fn request_mark(&self, principal: &str, request_id: &str, content: &[u8]) -> RequestMark {
        RequestMark {
            id: request_id_hash(&self.secret, principal, request_id),
            content: self.keyed(REQUEST_CONTENT, content),
        }
    }

    /// The hash that seals the token of a page, or names its filter.
    pub(crate) fn page_mark(&self, content: &[u8]) -> Hash {
        self.keyed(PAGE_TOKEN, content)
    }

    /// The hash by which a subject is found.
    pub(crate) fn subject_hash(&self, subject: &str) -> Hash {
        self.keyed(SUBJECT_LOOKUP, subject.as_bytes())
    }

    fn keyed(&self, words: &[u8], content: &[u8]) -> Hash {
        let key = hmac::Key::new(hmac::HMAC_SHA256, self.secret.as_slice());
        let mut context = hmac::Context::with_key(&key);
        context.update(words);
        context.update(content);
        // HMAC-SHA-256 has 32 bytes.
        Hash::of_slice(context.sign().as_ref()).unwrap_or(Hash([0; Hash::BYTES]))
    }
}

/// Random bytes of the system.
pub(super) fn random<const BYTES: usize>() -> Result<[u8; BYTES], StoreError> {
    let mut bytes = [0; BYTES];
    let filled = SystemRandom::new().fill(&mut bytes);
    filled.map_err(|_| StoreError::NoRandomness)?;
    Ok(bytes)
}

impl fmt::Debug for LogIdentity {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut shown = formatter.debug_struct("LogIdentity");
        shown.field("origin", &self.origin).finish_non_exhaustive()
    }
}

impl fmt::Debug for Entry {
    /// Neither subject nor body.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut shown = formatter.debug_struct("Entry");
        shown.field("header", &self.header).finish_non_exhaustive()
    }
}

impl fmt::Debug for KeptBody {
    /// Not the body.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            KeptBody::Whole { .. } => "Whole(..)",
            KeptBody::Erased => "Erased",
            KeptBody::NoLeaf => "NoLeaf",
        })
    }
}
