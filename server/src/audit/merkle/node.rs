//! Stored nodes: the roots of perfect subtrees, and where they are kept.

use std::collections::BTreeMap;

use super::hash::Hash;

/// The place of a perfect subtree: of 2^`level` leaves, from leaf `index` · 2^`level` on. Level 0
/// holds the hashes of the leaves themselves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct NodePlace {
    /// How many times its leaves were paired: 0 through 62.
    pub level: u8,
    /// Which one of its level, counted from 0.
    pub index: u64,
}

/// A node that a new leaf has made, to be written beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NewNode {
    /// Where it stands.
    pub place: NodePlace,
    /// Its hash.
    pub hash: Hash,
}

/// Where nodes are read from.
pub trait NodeStore {
    /// Why a node cannot be had.
    type Error;

    /// The hash at a place.
    ///
    /// # Errors
    /// Where the store has no such node, or cannot be read.
    fn node(&self, place: NodePlace) -> Result<Hash, Self::Error>;
}

/// A store in memory, for tests, benches and short logs.
#[derive(Clone, Debug, Default)]
pub struct MemoryNodes(BTreeMap<NodePlace, Hash>);

impl MemoryNodes {
    /// Keeps new nodes.
    pub fn write(&mut self, nodes: &[NewNode]) {
        let pairs = nodes.iter().map(|node| (node.place, node.hash));
        self.0.extend(pairs);
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl NodeStore for MemoryNodes {
    /// The place that has no node.
    type Error = NodePlace;

    fn node(&self, place: NodePlace) -> Result<Hash, NodePlace> {
        self.0.get(&place).copied().ok_or(place)
    }
}
