//! Entries of a log, as a service would make them.

use loftwright_server::audit::leaf::{LeafHeader, LeafKind};
use loftwright_server::audit::merkle::leaf_hash;
use loftwright_server::store::{Entry, EntryFacts, SaltedBody};

/// A recommendation for a subject with this body, as a caller asked for it without an id.
pub fn entry(subject: &str, body: &str) -> Entry {
    let digest = Some(leaf_hash(b"a digest"));
    Entry {
        header: LeafHeader {
            position: 0,
            instant_ms: 1_795_000_000_000,
            kind: LeafKind::Recommendation,
            principal: "till-2".to_owned(),
            request_id_hash: None,
            meaning_digest: digest,
            text_digest: digest,
            rules_digest: digest,
            contract_version: Some(3),
            semantics_version: Some(4),
            parts_digest: digest,
            subject_commitment: None,
        },
        subject: Some(subject.to_owned()),
        body: SaltedBody::new(body.as_bytes().to_vec()).expect("a salt"),
        request: None,
        facts: EntryFacts::default(),
        blobs: Vec::new(),
    }
}
