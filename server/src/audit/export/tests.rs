//! Exports and evidence packs that are as they should be, and what only an older checkpoint finds.

use std::path::{Path, PathBuf};

use super::sample::{ORIGIN, SIZES, key, sample};
use super::{ExportError, FaultKind, OlderCheckpoint, Report, verify_export};
use crate::audit::merkle::leaf_hash;
use crate::audit::note::{Checkpoint, KeyRing, SignedNote};

fn verified(bytes: &[u8], ring: &KeyRing, older: Option<&Checkpoint>) -> Report {
    verify_export(bytes, ring, older).expect("an export")
}

fn kinds(report: &Report) -> Vec<FaultKind> {
    report.faults.iter().map(|fault| fault.kind).collect()
}

#[test]
fn a_whole_log_is_clean() {
    let sample = sample();
    let report = verified(&sample.export(0), &sample.ring, None);
    let expected = Report {
        origin: ORIGIN.to_owned(),
        records: 12,
        bodies_as_committed: 11,
        bodies_not_given: 1,
        checkpoints: 3,
        signed_size: Some(12),
        signers: vec![format!("{ORIGIN} (key {:08x})", key(2).verifier().id())],
        ..Report::default()
    };
    assert_eq!(report, expected);
}

#[test]
fn a_stretch_of_the_log_is_clean_from_any_record_on() {
    let sample = sample();
    for first in 0..=12 {
        let report = verified(&sample.export(first), &sample.ring, None);
        assert_eq!(report.faults, [], "from {first}");
        assert_eq!((report.first_record, report.records), (first, 12 - first));
        for older in 0..=13 {
            let checkpoint = if older <= 12 {
                sample.checkpoint(older)
            } else {
                Checkpoint::new(ORIGIN, older, sample.checkpoint(12).root)
            };
            let report = verified(&sample.export(first), &sample.ring, Some(&checkpoint));
            if (first..=12).contains(&older) {
                assert_eq!(report.faults, [], "from {first}, older {older}");
                assert_eq!(report.older_checkpoint, OlderCheckpoint::Continued(older));
            } else {
                assert_eq!(kinds(&report), [FaultKind::OlderCheckpoint]);
                assert_eq!(
                    report.older_checkpoint,
                    OlderCheckpoint::NotContinued(older)
                );
            }
        }
    }
}

#[test]
fn the_evidence_of_every_record_is_clean() {
    let sample = sample();
    for position in 0..12 {
        let older = sample.checkpoint(12);
        let report = verified(&sample.evidence(position), &sample.ring, Some(&older));
        assert_eq!(report.faults, [], "record {position}");
        assert!(report.is_evidence && report.attachments.contains(&"parts".to_owned()));
        assert_eq!(report.older_checkpoint, OlderCheckpoint::Continued(12));
        let smaller = sample.checkpoint(5);
        let report = verified(&sample.evidence(position), &sample.ring, Some(&smaller));
        assert_eq!(kinds(&report), [FaultKind::OlderCheckpoint]);
    }
}

#[test]
fn evidence_with_the_proof_goes_on_from_a_checkpoint_of_any_size_and_from_no_other() {
    let sample = sample();
    for older in 0..=12 {
        let pack = sample.evidence_since(6, Some(older));
        let kept = sample.checkpoint(older);
        let report = verified(&pack, &sample.ring, Some(&kept));
        assert_eq!(report.faults, [], "from {older}");
        assert_eq!(report.older_checkpoint, OlderCheckpoint::Continued(older));
        let other_size = sample.checkpoint((older + 1) % 12);
        let report = verified(&pack, &sample.ring, Some(&other_size));
        assert_eq!(kinds(&report), [FaultKind::OlderCheckpoint], "from {older}");
        if older > 0 {
            let mut rewritten = kept.clone();
            rewritten.root = leaf_hash(b"another history");
            let report = verified(&pack, &sample.ring, Some(&rewritten));
            assert_eq!(kinds(&report), [FaultKind::OlderCheckpoint], "from {older}");
        }
    }
}

#[test]
fn a_log_of_no_records_is_clean_once_it_is_signed() {
    let mut sample = sample();
    sample.records.clear();
    sample.checkpoints.clear();
    let unsigned = verified(&sample.export(0), &sample.ring, None);
    assert_eq!(kinds(&unsigned), [FaultKind::NotCovered]);
    let one = sample.checkpoint(0);
    assert_eq!(one.root, crate::audit::merkle::empty_root());
}

#[test]
fn records_after_the_last_checkpoint_are_named() {
    let mut sample = sample();
    sample.sign(&SIZES[..2]);
    let report = verified(&sample.export(0), &sample.ring, None);
    assert_eq!(kinds(&report), [FaultKind::NotCovered]);
    let fault = &report.faults[0];
    assert_eq!((fault.record, fault.last_record), (Some(8), Some(11)));
}

#[test]
fn a_log_that_the_key_holder_rewrote_is_found_from_the_older_checkpoint_on_only() {
    let honest = sample();
    let older = honest.checkpoint(SIZES[0]);
    for position in 0..12_u64 {
        let mut rewritten = honest.clone();
        let index = usize::try_from(position).expect("small");
        rewritten.records[index].leaf.header.principal = "somebody else".to_owned();
        rewritten.sign(&SIZES);
        let bytes = rewritten.export(0);
        assert!(verified(&bytes, &honest.ring, None).is_clean());
        let report = verified(&bytes, &honest.ring, Some(&older));
        if position < older.size {
            assert_eq!(kinds(&report), [FaultKind::OlderCheckpoint]);
            let fault = &report.faults[0];
            assert_eq!((fault.record, fault.last_record), (Some(0), Some(4)));
        } else {
            // Nobody kept a checkpoint of it: no verifier can tell.
            assert!(report.is_clean());
        }
    }
}

#[test]
fn a_shorter_log_is_found_with_a_checkpoint_of_the_longer() {
    let honest = sample();
    let newest = honest.checkpoint(12);
    let mut cut = honest.clone();
    cut.records.truncate(8);
    cut.sign(&SIZES[..2]);
    let bytes = cut.export(0);
    assert!(verified(&bytes, &honest.ring, None).is_clean());
    let report = verified(&bytes, &honest.ring, Some(&newest));
    assert_eq!(kinds(&report), [FaultKind::OlderCheckpoint]);
    assert!(report.faults[0].message.ends_with("records are missing"));
}

#[test]
fn only_trusted_keys_count_and_only_for_their_sizes() {
    let sample = sample();
    let stranger = KeyRing::of(key(3).verifier().clone());
    let report = verified(&sample.export(0), &stranger, None);
    let expected = [FaultKind::Checkpoint; 3]
        .into_iter()
        .chain([FaultKind::NotCovered]);
    assert_eq!(kinds(&report), expected.collect::<Vec<_>>());
    // The first key alone, which signs no log of twelve records.
    let line = format!("{} to 8\n", key(1).verifier());
    let first = KeyRing::parse(&line).expect("a ring");
    let report = verified(&sample.export(0), &first, None);
    assert_eq!(
        kinds(&report),
        [FaultKind::Checkpoint, FaultKind::NotCovered]
    );
    let report = verified(&sample.export(0), &KeyRing::default(), None);
    assert!(!report.is_clean());
}

#[test]
fn a_checkpoint_of_another_log_does_not_count() {
    let mut sample = sample();
    let other = Checkpoint::new("other.example/log", 12, sample.checkpoint(12).root);
    let text = other.to_text();
    let note = SignedNote::sign(&text, &[&key(2)]).expect("signed");
    sample.checkpoints[2].1 = note;
    let report = verified(&sample.export(0), &sample.ring, Some(&other));
    assert_eq!(
        kinds(&report),
        [
            FaultKind::Checkpoint,
            FaultKind::NotCovered,
            FaultKind::OlderCheckpoint
        ]
    );
}

#[test]
fn what_is_no_export_is_refused() {
    let ring = sample().ring;
    for bytes in [
        &b""[..],
        b"loftwright export 2\n",
        b"something else altogether",
    ] {
        let found = verify_export(bytes, &ring, None);
        assert!(matches!(found, Err(ExportError::NoExport)));
    }
    let report = verified(super::MAGIC, &ring, None);
    assert_eq!(kinds(&report), [FaultKind::CutShort]);
}

/// Memory is flat because a frame is; a frame that claims to be larger is not read.
#[test]
fn a_frame_that_claims_too_much_is_not_read() {
    let mut bytes = super::MAGIC.to_vec();
    bytes.extend(*b"H\xff\xff\xff\xff");
    let report = verified(&bytes, &sample().ring, None);
    assert_eq!(kinds(&report), [FaultKind::Unreadable]);
    assert_eq!(report.faults[0].byte, 20);
}

fn corpus(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    folder.join("../tests/corpus/record").join(name)
}

/// The files that the other verifier of the tests reads, too. The format is kept: what was handed
/// out once must verify forever.
#[test]
fn the_files_of_the_corpus_are_written_to_the_byte() {
    let sample = sample();
    let files = [
        ("log.export", sample.export(0)),
        ("stretch.export", sample.export(8)),
        ("record-6.evidence", sample.evidence(6)),
        (
            "record-6-since.evidence",
            sample.evidence_since(6, Some(SIZES[0])),
        ),
        ("older.note", sample.checkpoints[0].1.to_text().into_bytes()),
        (
            "newest.note",
            sample.checkpoints[2].1.to_text().into_bytes(),
        ),
        ("log.keys", sample.ring.to_string().into_bytes()),
    ];
    for (name, bytes) in files {
        let path = corpus(name);
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&path, &bytes).expect("written");
        }
        let kept = std::fs::read(&path).expect("a file of the corpus");
        assert!(
            kept == bytes,
            "{name} is written in another way (UPDATE=1 writes it anew)"
        );
    }
}
