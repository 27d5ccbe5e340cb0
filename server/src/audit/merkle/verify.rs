//! Checks of proofs: the algorithms of RFC 9162 sections 2.1.3.2 and 2.1.4.2, word for word, so
//! that a proof that is too long, too short or of another size is refused.

use super::hash::{Hash, empty_root, node_hash};

/// Why a proof proves nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ProofError {
    /// The leaf is not in a tree of that size, or the older tree is larger than the newer.
    #[error("the proof is of a place beyond the log's end")]
    BeyondTheEnd,
    /// It has more or fewer hashes than a proof of these sizes.
    #[error("the proof has {given} hashes, which is not what a proof of these sizes has")]
    WrongLength {
        /// The hashes given.
        given: usize,
    },
    /// It leads to another root of the older tree.
    #[error("the proof leads to another root of the older log")]
    OtherOlderRoot,
    /// It leads to another root.
    #[error("the proof leads to another root")]
    OtherRoot,
}

/// Whether `proof` shows that leaf `index`, of hash `leaf`, is in the tree of `size` leaves and
/// root `root`.
///
/// # Errors
/// [`ProofError`], where it does not.
pub fn verify_inclusion(
    leaf: &Hash,
    index: u64,
    size: u64,
    proof: &[Hash],
    root: &Hash,
) -> Result<(), ProofError> {
    if index >= size {
        return Err(ProofError::BeyondTheEnd);
    }
    let wrong_length = ProofError::WrongLength { given: proof.len() };
    let (mut place, mut last) = (index, size - 1);
    let mut hash = *leaf;
    for other in proof {
        if last == 0 {
            return Err(wrong_length);
        }
        if place % 2 == 1 || place == last {
            hash = node_hash(other, &hash);
            climb_to_a_right_child(&mut place, &mut last);
        } else {
            hash = node_hash(&hash, other);
        }
        place >>= 1;
        last >>= 1;
    }
    if last != 0 {
        return Err(wrong_length);
    }
    (hash == *root).then_some(()).ok_or(ProofError::OtherRoot)
}

/// Whether `proof` shows that the tree of `older` leaves and root `older_root` is the beginning of
/// the tree of `newer` leaves and root `newer_root`. A tree without leaves is the beginning of any.
///
/// # Errors
/// [`ProofError`], where it does not.
pub fn verify_consistency(
    older: u64,
    newer: u64,
    proof: &[Hash],
    older_root: &Hash,
    newer_root: &Hash,
) -> Result<(), ProofError> {
    let wrong_length = ProofError::WrongLength { given: proof.len() };
    if older > newer {
        return Err(ProofError::BeyondTheEnd);
    }
    if older == 0 || older == newer {
        let known = if older == 0 {
            empty_root()
        } else {
            *newer_root
        };
        return match proof {
            [_, ..] => Err(wrong_length),
            [] if known != *older_root => Err(ProofError::OtherOlderRoot),
            [] => Ok(()),
        };
    }
    // Where the older tree is perfect it is the first hash itself.
    let first = older.is_power_of_two().then_some(older_root);
    let mut hashes = first.into_iter().chain(proof);
    let Some(seed) = hashes.next() else {
        return Err(wrong_length);
    };
    let (mut place, mut last) = (older - 1, newer - 1);
    while place % 2 == 1 {
        place >>= 1;
        last >>= 1;
    }
    let (mut older_hash, mut newer_hash) = (*seed, *seed);
    for other in hashes {
        if last == 0 {
            return Err(wrong_length);
        }
        if place % 2 == 1 || place == last {
            older_hash = node_hash(other, &older_hash);
            newer_hash = node_hash(other, &newer_hash);
            climb_to_a_right_child(&mut place, &mut last);
        } else {
            newer_hash = node_hash(&newer_hash, other);
        }
        place >>= 1;
        last >>= 1;
    }
    if last != 0 {
        return Err(wrong_length);
    }
    if older_hash != *older_root {
        return Err(ProofError::OtherOlderRoot);
    }
    let is_same = newer_hash == *newer_root;
    is_same.then_some(()).ok_or(ProofError::OtherRoot)
}

/// A node at the right edge without a neighbour moves up as it is.
fn climb_to_a_right_child(place: &mut u64, last: &mut u64) {
    while place.is_multiple_of(2) && *place != 0 {
        *place >>= 1;
        *last >>= 1;
    }
}
