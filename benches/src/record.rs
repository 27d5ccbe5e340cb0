//! Records to be kept.

use loftwright_server::audit::leaf::{LeafHeader, LeafKind, Salt};
use loftwright_server::audit::merkle::leaf_hash;
use loftwright_server::store::{Entry, EntryFacts, Outcome, RequestMark};
use zeroize::Zeroizing;

/// A recommendation of one of 1000 players, with a request of its own.
pub fn entry(number: u64, body_bytes: usize) -> Entry {
    let digest = Some(leaf_hash(b"a digest"));
    let hash = leaf_hash(&number.to_be_bytes());
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
        subject: Some(format!("player-{}", number % 1000)),
        salt: Salt::generate().unwrap(),
        body: Zeroizing::new(vec![7; body_bytes]),
        request: Some(RequestMark {
            id: hash,
            content: hash,
        }),
        facts: EntryFacts {
            ruleset: Some("skerry".to_owned()),
            outcome: Some(Outcome::Complete),
            about: None,
        },
        blobs: Vec::new(),
    }
}
