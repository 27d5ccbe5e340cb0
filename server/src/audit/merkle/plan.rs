//! Which stored nodes a root or a proof is made of, and how they are folded into it.
//!
//! The stretches of leaves are those of RFC 6962 sections 2.1.1 (inclusion) and 2.1.2
//! (consistency), whose recursion is walked as a loop: from the whole tree down to the leaf, or to
//! the older tree's end. Every stretch begins where a perfect subtree as large as it may begin, so
//! it is cut into perfect subtrees from the left.

use std::collections::BTreeSet;

use super::hash::{Hash, empty_root, node_hash};
use super::node::{NodePlace, NodeStore};

/// What cannot be proved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlanError {
    /// The leaf is not in a tree of that size.
    #[error("record {index} is not among the first {size}")]
    NoSuchLeaf {
        /// The leaf.
        index: u64,
        /// The size of the tree.
        size: u64,
    },
    /// The older tree is larger than the newer.
    #[error("a log of {older} records is not the beginning of one of {newer}")]
    OlderIsLarger {
        /// The size of the older tree.
        older: u64,
        /// The size of the newer tree.
        newer: u64,
    },
}

/// The nodes that a root or a proof is made of: one stretch of leaves for each hash.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    stretches: Vec<Vec<NodePlace>>,
}

impl Plan {
    /// The root of the first `size` leaves.
    pub fn root(size: u64) -> Self {
        Plan {
            stretches: vec![perfect_subtrees(0, size)],
        }
    }

    /// The proof that leaf `index` is in the tree of the first `size` leaves.
    ///
    /// # Errors
    /// [`PlanError::NoSuchLeaf`].
    pub fn inclusion(index: u64, size: u64) -> Result<Self, PlanError> {
        if index >= size {
            return Err(PlanError::NoSuchLeaf { index, size });
        }
        let (mut begin, mut end) = (0, size);
        let mut stretches = Vec::new();
        while end - begin > 1 {
            let middle = begin + largest_power_below(end - begin);
            if index < middle {
                stretches.push(perfect_subtrees(middle, end));
                end = middle;
            } else {
                stretches.push(perfect_subtrees(begin, middle));
                begin = middle;
            }
        }
        stretches.reverse();
        Ok(Plan { stretches })
    }

    /// The proof that the tree of the first `older` leaves is the beginning of that of the first
    /// `newer`. It is empty where they are as large, and where the older one has no leaves.
    ///
    /// # Errors
    /// [`PlanError::OlderIsLarger`].
    pub fn consistency(older: u64, newer: u64) -> Result<Self, PlanError> {
        if older > newer {
            return Err(PlanError::OlderIsLarger { older, newer });
        }
        let mut stretches = Vec::new();
        let (mut begin, mut end) = (0, newer);
        while older > 0 && older < end {
            let middle = begin + largest_power_below(end - begin);
            if older <= middle {
                stretches.push(perfect_subtrees(middle, end));
                end = middle;
            } else {
                stretches.push(perfect_subtrees(begin, middle));
                begin = middle;
            }
        }
        // Where nothing of the older tree stands to the left, the verifier knows this stretch: it
        // is the older tree.
        if begin > 0 {
            stretches.push(perfect_subtrees(begin, end));
        }
        stretches.reverse();
        Ok(Plan { stretches })
    }

    /// The nodes it takes, each once, in order: to be fetched in one go.
    pub fn places(&self) -> BTreeSet<NodePlace> {
        self.stretches.iter().flatten().copied().collect()
    }

    /// One hash for each stretch, with the nodes read by `node`.
    ///
    /// # Errors
    /// The first error of `node`.
    pub fn hashes<E>(
        &self,
        mut node: impl FnMut(NodePlace) -> Result<Hash, E>,
    ) -> Result<Vec<Hash>, E> {
        let fold = |places: &Vec<NodePlace>| {
            let mut places = places.iter().rev();
            let Some(last) = places.next() else {
                return Ok(empty_root());
            };
            places.try_fold(node(*last)?, |right, left| {
                Ok(node_hash(&node(*left)?, &right))
            })
        };
        self.stretches.iter().map(fold).collect()
    }

    /// One hash for each stretch, with the nodes of a store.
    ///
    /// # Errors
    /// The first error of the store.
    pub fn read<S: NodeStore>(&self, store: &S) -> Result<Vec<Hash>, S::Error> {
        self.hashes(|place| store.node(place))
    }
}

/// The perfect subtrees of the leaves from `begin` to before `end`, largest first. `begin` is a
/// multiple of a power of two that is no smaller than the stretch.
pub(super) fn perfect_subtrees(begin: u64, end: u64) -> Vec<NodePlace> {
    let mut places = Vec::new();
    let mut begin = begin;
    while begin < end {
        let level = (end - begin).ilog2();
        places.push(NodePlace {
            level: u8::try_from(level).unwrap_or(u8::MAX),
            index: begin >> level,
        });
        begin += 1 << level;
    }
    places
}

/// The largest power of two below a length of at least 2.
fn largest_power_below(length: u64) -> u64 {
    1 << length.saturating_sub(1).max(1).ilog2()
}
