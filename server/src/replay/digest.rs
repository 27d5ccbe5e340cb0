//! One digest of what all decisions came to: whether two evaluations come to the same, without
//! looking at more than 32 bytes of the one that is recorded.

use loftwright_engine::explain::Brief;
use sha2::{Digest, Sha256};

use super::compared::{ending_words, is_choice};
use crate::audit::encoding::write_counted;
use crate::audit::merkle::Hash;
use crate::wiped::WipedBytes;

/// With what it begins, so that it is no hash of another sort.
const WORDS: &[u8] = b"loftwright compared 1\n";

/// A digest that decisions are told to, in their order.
pub(crate) struct ComparedDigest {
    told: WipedBytes,
}

impl Default for ComparedDigest {
    fn default() -> Self {
        ComparedDigest {
            told: WipedBytes(WORDS.to_vec()),
        }
    }
}

impl ComparedDigest {
    /// Tells a decision: its name, its club (empty where there is none), how it ended as the
    /// interface names it, and its value, exact and as a person reads it.
    pub(crate) fn decision(
        &mut self,
        name: &str,
        club: &str,
        ending: &str,
        value: Option<(&str, &str)>,
    ) {
        self.text(name);
        self.text(club);
        self.text(ending);
        let Some((exact, text)) = value else {
            self.told.push(0);
            return;
        };
        self.told.push(1);
        self.text(exact);
        // The unit in which a number is shown decides nothing; the piece of a part does.
        if is_choice(ending) {
            self.text(text);
        }
    }

    /// All decisions of an evaluation.
    pub(crate) fn of_briefs(briefs: &[Brief<'_>]) -> Hash {
        let mut digest = ComparedDigest::default();
        for brief in briefs {
            let value = brief.value.as_ref();
            digest.decision(
                brief.name,
                brief.club.as_deref().unwrap_or(""),
                ending_words(brief.ending).0,
                value.map(|value| (value.exact.as_str(), value.text.as_str())),
            );
        }
        digest.finish()
    }

    /// The digest.
    pub(crate) fn finish(self) -> Hash {
        Hash(Sha256::digest(self.told.as_slice()).into())
    }

    fn text(&mut self, text: &str) {
        write_counted(&mut self.told, text.as_bytes());
    }
}
