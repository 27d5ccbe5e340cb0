//! Public figures of the tree: the leaves and proofs with which the implementations of Certificate
//! Transparency are tested, from `testonly/reference_test.go` of the public repository
//! `transparency-dev/merkle`, and the roots that its predecessors publish for the same leaves
//! (`merkletree_test` of `google/certificate-transparency`).

use super::{Frontier, Hash, MemoryNodes, Plan, empty_root, leaf_hash};
use super::{verify_consistency, verify_inclusion};
use crate::audit::test_support::bytes;

const LEAVES: [&str; 8] = [
    "",
    "00",
    "10",
    "2021",
    "3031",
    "40414243",
    "5051525354555657",
    "606162636465666768696a6b6c6d6e6f",
];

/// The roots of the first 0 through 8 leaves.
const ROOTS: [&str; 9] = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
];

/// Leaf, size, proof.
const INCLUSIONS: [(u64, u64, &[&str]); 7] = [
    (0, 1, &[]),
    (
        0,
        2,
        &["96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"],
    ),
    (
        1,
        2,
        &["6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"],
    ),
    (
        2,
        3,
        &["fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"],
    ),
    (
        1,
        5,
        &[
            "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        ],
    ),
    (
        0,
        8,
        &[
            "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
        ],
    ),
    (
        5,
        8,
        &[
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
            "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        ],
    ),
];

/// Older size, newer size, proof.
const CONSISTENCIES: [(u64, u64, &[&str]); 4] = [
    (1, 1, &[]),
    (
        1,
        8,
        &[
            "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
        ],
    ),
    (
        2,
        5,
        &[
            "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
            "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        ],
    ),
    (
        6,
        8,
        &[
            "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
            "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
            "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        ],
    ),
];

fn hash(hexadecimal: &str) -> Hash {
    Hash::of_slice(&bytes(hexadecimal)).expect("32 bytes")
}

fn hashes(hexadecimal: &[&str]) -> Vec<Hash> {
    hexadecimal.iter().map(|text| hash(text)).collect()
}

fn leaf(index: u64) -> Hash {
    leaf_hash(&bytes(LEAVES[usize::try_from(index).expect("small")]))
}

fn root(size: u64) -> Hash {
    hash(ROOTS[usize::try_from(size).expect("small")])
}

fn store() -> MemoryNodes {
    let mut frontier = Frontier::empty();
    let mut written = Vec::new();
    for index in 0..8 {
        frontier.add(leaf(index), &mut written).expect("room");
    }
    let mut store = MemoryNodes::default();
    store.write(&written);
    store
}

#[test]
fn the_roots_are_the_public_ones() {
    assert_eq!(empty_root(), root(0));
    let mut frontier = Frontier::empty();
    for size in 0..=8 {
        assert_eq!(frontier.root(), root(size));
        assert_eq!(Plan::root(size).read(&store()), Ok(vec![root(size)]));
        if size < 8 {
            frontier.add(leaf(size), &mut Vec::new()).expect("room");
        }
    }
}

#[test]
fn the_inclusion_proofs_are_the_public_ones() {
    for (index, size, proof) in INCLUSIONS {
        let plan = Plan::inclusion(index, size).expect("a leaf of the tree");
        assert_eq!(plan.read(&store()), Ok(hashes(proof)), "{index} of {size}");
        let found = verify_inclusion(&leaf(index), index, size, &hashes(proof), &root(size));
        assert_eq!(found, Ok(()));
    }
}

#[test]
fn the_consistency_proofs_are_the_public_ones() {
    for (older, newer, proof) in CONSISTENCIES {
        let plan = Plan::consistency(older, newer).expect("an older tree");
        assert_eq!(plan.read(&store()), Ok(hashes(proof)), "{older} to {newer}");
        let found = verify_consistency(older, newer, &hashes(proof), &root(older), &root(newer));
        assert_eq!(found, Ok(()));
    }
}
