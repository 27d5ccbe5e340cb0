//! The tree against two others: a library that others wrote (`ct-merkle`), and the recursive
//! definition of RFC 6962 section 2.1 as it stands there. And proofs that prove nothing.

use ct_merkle::mem_backed_tree::MemoryBackedTree;
use sha2::Sha256;

use super::{
    Frontier, FrontierError, Hash, LOG_FULL_AT, MemoryNodes, Plan, PlanError, ProofError,
    leaf_hash, node_hash, verify_consistency, verify_inclusion,
};

/// Every size up to this one, and every pair of them.
const SIZES: u64 = 70;

fn leaf(index: u64) -> Vec<u8> {
    format!("leaf {index}").into_bytes()
}

fn hashed(index: u64) -> Hash {
    leaf_hash(&leaf(index))
}

/// The root as the RFC defines it: MTH(D[begin..end]).
fn defined(begin: u64, end: u64) -> Hash {
    if end - begin == 1 {
        return hashed(begin);
    }
    let mut split = 1;
    while split * 2 < end - begin {
        split *= 2;
    }
    node_hash(&defined(begin, begin + split), &defined(begin + split, end))
}

struct Tree {
    store: MemoryNodes,
    frontier: Frontier,
    oracle: MemoryBackedTree<Sha256, Vec<u8>>,
}

fn tree(size: u64) -> Tree {
    let mut tree = Tree {
        store: MemoryNodes::default(),
        frontier: Frontier::empty(),
        oracle: MemoryBackedTree::new(),
    };
    for index in 0..size {
        let mut written = Vec::new();
        tree.frontier
            .add(hashed(index), &mut written)
            .expect("room");
        tree.store.write(&written);
        tree.oracle.push(leaf(index));
    }
    tree
}

fn joined(proof: &[Hash]) -> Vec<u8> {
    proof.iter().flat_map(|hash| hash.0).collect()
}

fn small(number: u64) -> usize {
    usize::try_from(number).expect("small")
}

#[test]
fn every_root_is_that_of_the_definition_and_of_the_other_library() {
    for size in 1..=SIZES {
        let tree = tree(size);
        let root = tree.frontier.root();
        assert_eq!(root, defined(0, size));
        assert_eq!(
            root.as_bytes().as_slice(),
            tree.oracle.root().as_bytes().as_slice()
        );
        assert_eq!(Plan::root(size).read(&tree.store), Ok(vec![root]));
        assert!(small(2 * size) > tree.store.len(), "fewer than 2 n nodes");
        // What a store holds is enough to go on.
        let peaks = Frontier::places(size)
            .into_iter()
            .map(|place| super::NodeStore::node(&tree.store, place).expect("stored"))
            .collect();
        assert_eq!(Frontier::of(size, peaks), Ok(tree.frontier));
    }
}

#[test]
fn every_inclusion_proof_is_that_of_the_other_library_and_verifies() {
    for size in 1..=SIZES {
        let tree = tree(size);
        let root = tree.frontier.root();
        for index in 0..size {
            let plan = Plan::inclusion(index, size).expect("a leaf");
            let proof = plan.read(&tree.store).expect("stored");
            assert_eq!(
                joined(&proof),
                tree.oracle.prove_inclusion(small(index)).as_bytes()
            );
            let found = verify_inclusion(&hashed(index), index, size, &proof, &root);
            assert_eq!(found, Ok(()));
            assert!(plan.places().len() <= 64);
        }
    }
}

#[test]
fn every_consistency_proof_is_that_of_the_other_library_and_verifies() {
    let roots: Vec<Hash> = (0..=SIZES).map(|size| tree(size).frontier.root()).collect();
    for newer in 1..=SIZES {
        let tree = tree(newer);
        for older in 0..=newer {
            let plan = Plan::consistency(older, newer).expect("an older tree");
            let proof = plan.read(&tree.store).expect("stored");
            // The other library has none from a tree without leaves.
            if older > 0 {
                let oracle = tree.oracle.prove_consistency(small(newer - older));
                assert_eq!(joined(&proof), oracle.as_bytes(), "{older} to {newer}");
            }
            let (from, to) = (&roots[small(older)], &roots[small(newer)]);
            assert_eq!(verify_consistency(older, newer, &proof, from, to), Ok(()));
        }
    }
}

/// Every proof that differs from `proof` in one place: a bit, a hash more or less, two swapped.
fn mutated(proof: &[Hash]) -> Vec<Vec<Hash>> {
    let mut mutants = Vec::new();
    for at in 0..proof.len() {
        let mut flipped = proof.to_vec();
        flipped[at].0[at % Hash::BYTES] ^= 1;
        mutants.push(flipped);
        let mut shorter = proof.to_vec();
        shorter.remove(at);
        mutants.push(shorter);
        let mut doubled = proof.to_vec();
        doubled.insert(at, proof[at]);
        mutants.push(doubled);
        if at > 0 {
            let mut swapped = proof.to_vec();
            swapped.swap(at - 1, at);
            mutants.push(swapped);
        }
    }
    let mut longer = proof.to_vec();
    longer.push(hashed(0));
    mutants.push(longer);
    mutants
}

#[test]
fn a_mutated_inclusion_proof_is_refused() {
    for size in 1..=33 {
        let tree = tree(size);
        let root = tree.frontier.root();
        for index in 0..size {
            let plan = Plan::inclusion(index, size).expect("a leaf");
            let proof = plan.read(&tree.store).expect("stored");
            let leaf = hashed(index);
            for mutant in mutated(&proof) {
                assert!(verify_inclusion(&leaf, index, size, &mutant, &root).is_err());
            }
            for other in (0..=size).filter(|other| *other != index) {
                assert!(verify_inclusion(&leaf, other, size, &proof, &root).is_err());
            }
            let other = hashed(index + 1);
            assert!(verify_inclusion(&other, index, size, &proof, &root).is_err());
        }
    }
}

#[test]
fn a_mutated_consistency_proof_is_refused() {
    let roots: Vec<Hash> = (0..=33).map(|size| tree(size).frontier.root()).collect();
    for newer in 1..=33 {
        let tree = tree(newer);
        let to = &roots[small(newer)];
        for older in 0..=newer {
            let plan = Plan::consistency(older, newer).expect("an older tree");
            let proof = plan.read(&tree.store).expect("stored");
            let from = &roots[small(older)];
            for mutant in mutated(&proof) {
                assert!(verify_consistency(older, newer, &mutant, from, to).is_err());
            }
            for other in (0..=33_u64).filter(|other| *other != older) {
                let from = &roots[small(other)];
                assert!(verify_consistency(older, newer, &proof, from, to).is_err());
            }
        }
    }
}

#[test]
fn faults_are_named() {
    assert_eq!(
        Plan::inclusion(5, 5),
        Err(PlanError::NoSuchLeaf { index: 5, size: 5 })
    );
    assert_eq!(
        Plan::consistency(6, 5),
        Err(PlanError::OlderIsLarger { older: 6, newer: 5 })
    );
    let root = tree(2).frontier.root();
    let short = verify_inclusion(&hashed(0), 0, 2, &[], &root);
    assert_eq!(short, Err(ProofError::WrongLength { given: 0 }));
    let beyond = verify_inclusion(&hashed(0), 2, 2, &[], &root);
    assert_eq!(beyond, Err(ProofError::BeyondTheEnd));
    assert_eq!(
        Frontier::of(3, vec![root]),
        Err(FrontierError::WrongCount {
            size: 3,
            needed: 2,
            given: 1
        })
    );
    let mut full = Frontier::of(LOG_FULL_AT, vec![root]).expect("a full log");
    assert_eq!(full.add(root, &mut Vec::new()), Err(FrontierError::Full));
    let missing = Plan::root(1).read(&MemoryNodes::default());
    assert_eq!(missing, Err(super::NodePlace { level: 0, index: 0 }));
}

/// Sizes near the limit neither overflow nor take more nodes than a proof of 62 levels.
#[test]
fn proofs_of_the_largest_logs_are_planned() {
    for size in [LOG_FULL_AT - 1, LOG_FULL_AT] {
        for index in [0, 1, size / 2, size - 1] {
            let plan = Plan::inclusion(index, size).expect("a leaf");
            assert!(plan.places().len() <= 128);
        }
        assert!(Plan::consistency(size / 3, size).is_ok());
    }
}
