//! A small log of the invented workshop, for tests: twelve records of all kinds, two keys, three
//! checkpoints.

use sha2::{Digest, Sha256};
use zeroize::Zeroizing;

use super::{ATTACHED_PARTS, ATTACHED_RULES, ExportWriter, Head, HeadKind, OlderLog};
use crate::audit::encoding::{Value, encode};
use crate::audit::leaf::{Leaf, LeafHeader, LeafKind, Salt, body_commitment};
use crate::audit::merkle::{Frontier, Hash, MemoryNodes, NodeStore, Plan, leaf_hash};
use crate::audit::note::{Checkpoint, KeyRing, SignedNote, SigningKey, sign_checkpoint};

pub(super) const ORIGIN: &str = "skerry-point.example/log";
/// What the rules and the parts of the records were.
pub(super) const RULES: &[u8] = b"decide wedge_bounce : bounce_class\n";
pub(super) const PARTS: &[u8] = b"loftwright parts 1\n";
/// The sizes at which checkpoints are signed; at the second the key is changed.
pub(super) const SIZES: [u64; 3] = [5, 8, 12];

const KINDS: [LeafKind; 12] = [
    LeafKind::Key,
    LeafKind::Role,
    LeafKind::Published,
    LeafKind::Activated,
    LeafKind::Catalogue,
    LeafKind::Stock,
    LeafKind::Recommendation,
    LeafKind::Recommendation,
    LeafKind::BuildConfirmed,
    LeafKind::ReadByAPerson,
    LeafKind::Erasure,
    LeafKind::Recommendation,
];

/// A record with its body.
#[derive(Clone)]
pub(super) struct Record {
    pub(super) leaf: Leaf,
    pub(super) salt: Salt,
    pub(super) body: Vec<u8>,
}

/// A log with the keys that sign it.
#[derive(Clone)]
pub(super) struct Sample {
    pub(super) records: Vec<Record>,
    /// The checkpoints, and after how many records each stands.
    pub(super) checkpoints: Vec<(u64, SignedNote)>,
    pub(super) ring: KeyRing,
}

pub(super) fn key(seed: u8) -> SigningKey {
    SigningKey::of_seed(ORIGIN, Zeroizing::new([seed; 32])).expect("a key")
}

fn digest(words: &[u8]) -> Option<Hash> {
    Some(Hash(Sha256::digest(words).into()))
}

fn record(index: usize, kind: LeafKind) -> Record {
    let position = u64::try_from(index).expect("small");
    let body = Value::map([
        ("kind", kind.text().into()),
        (
            "note",
            format!("record {index} of the workshop at Skerry Point")
                .as_str()
                .into(),
        ),
    ]);
    let body = encode(&body).expect("written");
    let salt = Salt(Sha256::digest(format!("salt {index}")).into());
    let of_rules = |words| (kind != LeafKind::Role).then(|| digest(words)).flatten();
    let header = LeafHeader {
        position,
        instant_ms: 1_795_600_000_000 + 60_000 * i64::try_from(index).expect("small"),
        kind,
        principal: "till-2".to_owned(),
        request_id_hash: digest(b"request"),
        meaning_digest: of_rules(b"meaning"),
        text_digest: of_rules(b"text"),
        rules_digest: of_rules(RULES),
        contract_version: Some(3),
        semantics_version: Some(4),
        parts_digest: digest(PARTS),
        subject_commitment: digest(b"subject"),
    };
    let commitment = body_commitment(&salt, &body);
    let leaf = Leaf { header, commitment };
    Record { leaf, salt, body }
}

pub(super) fn sample() -> Sample {
    let kinds = KINDS.into_iter().enumerate();
    let mut sample = Sample {
        records: kinds.map(|(index, kind)| record(index, kind)).collect(),
        checkpoints: Vec::new(),
        ring: KeyRing::of(key(1).verifier().clone()),
    };
    sample.ring.change(key(2).verifier().clone(), SIZES[1]);
    sample.sign(&SIZES);
    sample
}

impl Sample {
    /// Signs the records as they are, at some sizes.
    pub(super) fn sign(&mut self, sizes: &[u64]) {
        self.checkpoints.clear();
        for size in sizes {
            let keys = match size.cmp(&SIZES[1]) {
                std::cmp::Ordering::Less => vec![key(1)],
                std::cmp::Ordering::Equal => vec![key(1), key(2)],
                std::cmp::Ordering::Greater => vec![key(2)],
            };
            let keys: Vec<&SigningKey> = keys.iter().collect();
            let note = sign_checkpoint(&self.checkpoint(*size), &keys).expect("signed");
            self.checkpoints.push((*size, note));
        }
    }

    pub(super) fn leaves(&self) -> Vec<Vec<u8>> {
        let bytes = |record: &Record| record.leaf.to_bytes().expect("written");
        self.records.iter().map(bytes).collect()
    }

    fn grown(&self, size: u64) -> (Frontier, MemoryNodes) {
        let mut frontier = Frontier::empty();
        let mut nodes = Vec::new();
        for leaf in self
            .leaves()
            .iter()
            .take(usize::try_from(size).expect("small"))
        {
            frontier.add(leaf_hash(leaf), &mut nodes).expect("room");
        }
        let mut store = MemoryNodes::default();
        store.write(&nodes);
        (frontier, store)
    }

    pub(super) fn checkpoint(&self, size: u64) -> Checkpoint {
        Checkpoint::new(ORIGIN, size, self.grown(size).0.root())
    }

    pub(super) fn size(&self) -> u64 {
        u64::try_from(self.records.len()).expect("small")
    }

    /// The export from a record on. The body of record 7 is not handed out.
    pub(super) fn export(&self, first: u64) -> Vec<u8> {
        let kind = HeadKind::Log {
            first,
            peaks: self.grown(first).0.peaks().to_vec(),
        };
        let size = self.size();
        let mut writer = begun(&self.ring, kind, size);
        let mut position = 0;
        for (record, leaf) in self.records.iter().zip(self.leaves()) {
            if position >= first {
                let body = (position != 7).then_some((&record.salt, record.body.as_slice()));
                writer.record(&leaf, body).expect("written");
            }
            position += 1;
            for (after, note) in &self.checkpoints {
                if *after == position && position >= first {
                    writer.checkpoint(note).expect("written");
                }
            }
        }
        writer.end().expect("written")
    }

    /// The evidence pack of a record, with what its rules and parts were.
    pub(super) fn evidence(&self, position: u64) -> Vec<u8> {
        self.evidence_since(position, None)
    }

    /// The same, with the proof that it goes on from an older size.
    pub(super) fn evidence_since(&self, position: u64, since: Option<u64>) -> Vec<u8> {
        let size = self.size();
        let (_, store) = self.grown(size);
        let plan = Plan::inclusion(position, size).expect("a record");
        let proof = plan.hashes(|place| store.node(place)).expect("stored");
        let older = since.map(|older| {
            let plan = Plan::consistency(older, size).expect("sizes");
            let proof = plan.hashes(|place| store.node(place)).expect("stored");
            OlderLog { size: older, proof }
        });
        let kind = HeadKind::Evidence {
            position,
            proof,
            older,
        };
        let mut writer = begun(&self.ring, kind, size);
        let index = usize::try_from(position).expect("small");
        let record = &self.records[index];
        let body = (&record.salt, record.body.as_slice());
        writer
            .record(&self.leaves()[index], Some(body))
            .expect("written");
        let (_, note) = self.checkpoints.last().expect("a checkpoint");
        writer.checkpoint(note).expect("written");
        if record.leaf.header.rules_digest.is_some() {
            writer.attachment(ATTACHED_RULES, RULES).expect("written");
        }
        writer.attachment(ATTACHED_PARTS, PARTS).expect("written");
        writer.end().expect("written")
    }
}

fn begun(ring: &KeyRing, kind: HeadKind, size: u64) -> ExportWriter<Vec<u8>> {
    let origin = ORIGIN.to_owned();
    let head = Head { origin, size, kind };
    let mut writer = ExportWriter::begin(Vec::new(), &head).expect("written");
    for key in ring.keys() {
        writer.key(key).expect("written");
    }
    writer
}
