//! The right edge of a growing tree: all that is needed to add leaves and to name the root.

use super::hash::{Hash, empty_root, node_hash};
use super::node::{NewNode, NodePlace};
use super::plan::perfect_subtrees;

/// The most leaves of a log: sizes and places then fit in signed 64-bit numbers, as databases have
/// them.
pub const LOG_FULL_AT: u64 = 1 << 62;

/// Why there is no such frontier, or it cannot grow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FrontierError {
    /// A tree of that size has another number of perfect subtrees at its edge.
    #[error("a tree of {size} leaves has {needed} subtrees at its edge, and {given} are given")]
    WrongCount {
        /// The leaves.
        size: u64,
        /// The subtrees of such a tree.
        needed: usize,
        /// The hashes given.
        given: usize,
    },
    /// The log is full.
    #[error("the log is full: it holds at most {LOG_FULL_AT} records")]
    Full,
}

/// The roots of the perfect subtrees that a tree of some size is made of, largest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Frontier {
    size: u64,
    peaks: Vec<Hash>,
}

impl Frontier {
    /// The frontier of a tree without leaves.
    pub fn empty() -> Self {
        Frontier::default()
    }

    /// The frontier of a tree of `size` leaves, of the nodes at [`Frontier::places`].
    ///
    /// # Errors
    /// [`FrontierError`].
    pub fn of(size: u64, peaks: Vec<Hash>) -> Result<Self, FrontierError> {
        if size > LOG_FULL_AT {
            return Err(FrontierError::Full);
        }
        let needed = usize::try_from(size.count_ones()).unwrap_or(usize::MAX);
        if peaks.len() != needed {
            return Err(FrontierError::WrongCount {
                size,
                needed,
                given: peaks.len(),
            });
        }
        Ok(Frontier { size, peaks })
    }

    /// Where a store keeps the nodes of the frontier of a tree of `size` leaves.
    pub fn places(size: u64) -> Vec<NodePlace> {
        perfect_subtrees(0, size)
    }

    /// How many leaves the tree has.
    pub fn size(&self) -> u64 {
        self.size
    }

    /// The hashes, largest subtree first.
    pub fn peaks(&self) -> &[Hash] {
        &self.peaks
    }

    /// The root of the tree.
    pub fn root(&self) -> Hash {
        let mut peaks = self.peaks.iter().rev();
        let Some(last) = peaks.next() else {
            return empty_root();
        };
        peaks.fold(*last, |right, left| node_hash(left, &right))
    }

    /// Adds a leaf, and appends to `written` the nodes that are complete with it: the leaf's own
    /// hash, and one for each pair that it closes.
    ///
    /// # Errors
    /// [`FrontierError::Full`].
    pub fn add(&mut self, leaf: Hash, written: &mut Vec<NewNode>) -> Result<(), FrontierError> {
        if self.size >= LOG_FULL_AT {
            return Err(FrontierError::Full);
        }
        let mut place = NodePlace {
            level: 0,
            index: self.size,
        };
        let mut hash = leaf;
        written.push(NewNode { place, hash });
        // An odd index has its left neighbour on the edge: the two make one.
        while place.index % 2 == 1
            && let Some(left) = self.peaks.pop()
        {
            hash = node_hash(&left, &hash);
            place = NodePlace {
                level: place.level + 1,
                index: place.index / 2,
            };
            written.push(NewNode { place, hash });
        }
        self.peaks.push(hash);
        self.size += 1;
        Ok(())
    }
}
