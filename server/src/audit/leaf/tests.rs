//! Leaves: written and read, what each kind must name, and commitments.

use sha2::{Digest, Sha256};

use super::{
    LARGEST_LEAF_BYTES, Leaf, LeafFault, LeafHeader, LeafKind, Salt, body_commitment,
    request_id_hash, subject_commitment,
};
use crate::audit::encoding::{Value, decode_first, encode};
use crate::audit::merkle::{Hash, leaf_hash};
use crate::audit::test_support::bytes;

fn leaf(kind: LeafKind) -> Leaf {
    let digest = |words: &str| Some(leaf_hash(words.as_bytes()));
    Leaf {
        header: LeafHeader {
            position: 7,
            instant_ms: 1_795_000_000_123,
            kind,
            principal: "till-2".to_owned(),
            request_id_hash: digest("request"),
            meaning_digest: digest("meaning"),
            text_digest: digest("text"),
            rules_digest: None,
            contract_version: Some(3),
            semantics_version: Some(4),
            parts_digest: digest("parts"),
            subject_commitment: digest("subject"),
        },
        commitment: body_commitment(&Salt([1; 32]), b"body"),
    }
}

#[test]
fn a_leaf_of_every_kind_is_written_and_read_again() {
    for kind in LeafKind::ALL {
        let leaf = leaf(kind);
        let written = leaf.to_bytes().expect("written");
        assert_eq!(Leaf::parse(&written), Ok(leaf.clone()));
        assert_eq!(leaf.hash(), Ok(leaf_hash(&written)));
        assert!(written.len() < 512, "{}", written.len());
        assert_eq!(LeafKind::of_text(kind.text()), Some(kind));
    }
}

#[test]
fn a_flipped_bit_of_a_leaf_is_refused_or_another_leaf() {
    let leaf = leaf(LeafKind::Recommendation);
    let written = leaf.to_bytes().expect("written");
    for at in 0..written.len() {
        for bit in 0..8 {
            let mut flipped = written.clone();
            flipped[at] ^= 1 << bit;
            assert_ne!(Leaf::parse(&flipped), Ok(leaf.clone()));
        }
        assert!(Leaf::parse(&written[..at]).is_err());
    }
}

#[test]
fn what_a_kind_must_name_is_asked_for() {
    type Without = fn(&mut LeafHeader);
    let cases: [(LeafKind, &str, Without); 7] = [
        (LeafKind::Recommendation, "meaning_digest", |header| {
            header.meaning_digest = None
        }),
        (LeafKind::Activated, "text_digest", |header| {
            header.text_digest = None
        }),
        (LeafKind::Published, "contract_version", |header| {
            header.contract_version = None
        }),
        (LeafKind::BuildConfirmed, "semantics_version", |header| {
            header.semantics_version = None
        }),
        (LeafKind::Stock, "parts_digest", |header| {
            header.parts_digest = None
        }),
        (LeafKind::Catalogue, "parts_digest", |header| {
            header.parts_digest = None
        }),
        (LeafKind::Erasure, "subject_commitment", |header| {
            header.subject_commitment = None
        }),
    ];
    for (kind, name, without) in cases {
        let mut lacking = leaf(kind);
        without(&mut lacking.header);
        assert_eq!(lacking.to_bytes(), Err(LeafFault::Lacks { kind, name }));
    }
    let mut role = leaf(LeafKind::Role);
    role.header.meaning_digest = None;
    role.header.subject_commitment = None;
    assert!(role.to_bytes().is_ok());
}

#[test]
fn faults_of_leaves_are_named() {
    let good = leaf(LeafKind::Role);
    let written = good.to_bytes().expect("written");
    let (value, length) = decode_first(&written).expect("a header");
    let value = Value::from(value);
    let commitment = &written[length..];
    let with = |change: &dyn Fn(&mut std::collections::BTreeMap<String, Value>)| {
        let Value::Map(mut values) = value.clone() else {
            panic!("a map");
        };
        change(&mut values);
        let mut bytes = encode(&Value::Map(values)).expect("written");
        bytes.extend(commitment);
        Leaf::parse(&bytes).expect_err("a fault").to_string()
    };
    let set = |name: &'static str, value: Value| {
        with(&move |values| {
            values.insert(name.to_owned(), value.clone());
        })
    };
    assert_eq!(
        set("colour", Value::Flag(true)),
        "the header's `colour` is not known here"
    );
    assert_eq!(
        set("kind", "gift".into()),
        "`gift` is no kind of record that is known"
    );
    assert!(set("version", 2_u32.into()).contains("version 2"));
    assert!(set("meaning_digest", Value::Nothing).contains("`meaning_digest` is not 32 bytes"));
    assert!(set("principal", "".into()).contains("principal"));
    let missing = with(&|values| {
        values.remove("position");
    });
    assert_eq!(missing, "the header's `position` is missing");
    let mut longer = written.clone();
    longer.push(0);
    assert_eq!(Leaf::parse(&longer), Err(LeafFault::Commitment(33)));
    let long = vec![0; LARGEST_LEAF_BYTES + 1];
    assert_eq!(Leaf::parse(&long), Err(LeafFault::TooLong(long.len())));
}

#[test]
fn commitments_are_what_they_are_said_to_be() {
    let salt = Salt([7; 32]);
    let hash = |parts: &[&[u8]]| Hash(Sha256::digest(parts.concat()).into());
    let body = hash(&[b"loftwright body 1\n", &[7; 32], b"a body"]);
    assert_eq!(body_commitment(&salt, b"a body"), body);
    let subject = hash(&[b"loftwright subject 1\n", &[7; 32], b"player 12"]);
    assert_eq!(subject_commitment(&salt, "player 12"), subject);
    assert_ne!(body_commitment(&Salt([8; 32]), b"a body"), body);
    assert_eq!(format!("{salt:?}"), "Salt(..)");
    assert_ne!(
        Salt::generate().expect("a salt"),
        Salt::generate().expect("a salt")
    );
}

/// HMAC as RFC 2104 defines it, over SHA-256, written out.
#[test]
fn the_hash_of_a_request_is_keyed() {
    let key: [u8; 32] = bytes("000102030405060708090a0b0c0d0e0f101112131415161718191a1b1c1d1e1f")
        .try_into()
        .expect("32 bytes");
    let mut message = b"loftwright request id 1\n".to_vec();
    message.extend([0, 0, 0, 0, 0, 0, 0, 6]);
    message.extend(b"till-2abc");
    let pad = |with: u8| -> Vec<u8> {
        let padded = key.iter().copied().chain([0; 32]);
        padded.map(|byte| byte ^ with).collect()
    };
    let inner = Sha256::digest([pad(0x36), message].concat());
    let outer = Sha256::digest([pad(0x5c), inner.to_vec()].concat());
    assert_eq!(request_id_hash(&key, "till-2", "abc"), Hash(outer.into()));
    assert_ne!(
        request_id_hash(&key, "till-2a", "bc"),
        request_id_hash(&key, "till-2", "abc")
    );
}
