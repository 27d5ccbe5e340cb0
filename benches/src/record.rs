//! Records to be kept.

use loftwright_server::audit::merkle::leaf_hash;
use loftwright_server::store::{Entry, EntryFacts, Outcome, RequestMark, SaltedBody};

/// A recommendation of one of 1000 players, with a request of its own.
pub fn entry(number: u64, body_bytes: usize) -> Entry {
    let hash = leaf_hash(&number.to_be_bytes());
    let subject = format!("player-{}", number % 1000);
    Entry {
        body: SaltedBody::new(vec![7; body_bytes]).unwrap(),
        request: Some(RequestMark {
            id: hash,
            content: hash,
        }),
        facts: EntryFacts {
            ruleset: Some("skerry".to_owned()),
            outcome: Some(Outcome::Complete),
            about: None,
        },
        ..loftwright_testing::entry(&subject, "")
    }
}
