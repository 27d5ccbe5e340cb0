//! The tamper matrix: every byte of a small export changed, every frame dropped, doubled, swapped,
//! the file cut at every byte. First by accident, where the frames' checks say where; then by
//! somebody who knows the format and writes the checks anew, where positions, commitments and the
//! signed roots do.

use super::frame::{CHECK_BYTES, Frame, FrameKind, FrameReader, MAGIC, frame_bytes};
use super::sample::{Sample, key, sample};
use super::{FaultKind, Report, verify_export};
use crate::audit::encoding::{Value, decode, encode};
use crate::audit::leaf::Leaf;

fn frames(file: &[u8]) -> Vec<Frame> {
    let mut reader = FrameReader::open(file).expect("read").expect("an export");
    let mut frames = Vec::new();
    while let Some(frame) = reader.next().expect("a frame") {
        frames.push(frame);
    }
    frames
}

fn start(frame: &Frame) -> usize {
    usize::try_from(frame.at).expect("small")
}

/// The frames as bytes, each with its check.
fn pieces(file: &[u8]) -> Vec<&[u8]> {
    let mut starts: Vec<usize> = frames(file).iter().map(start).collect();
    starts.push(file.len());
    starts
        .windows(2)
        .map(|pair| &file[pair[0]..pair[1]])
        .collect()
}

fn joined(pieces: &[&[u8]]) -> Vec<u8> {
    let mut file = MAGIC.to_vec();
    file.extend(pieces.concat());
    file
}

/// A file of these contents, with checks that are right.
fn framed(contents: &[(FrameKind, Vec<u8>)]) -> Vec<u8> {
    let mut file = MAGIC.to_vec();
    let mut check = [0; CHECK_BYTES];
    for (kind, content) in contents {
        let (bytes, next) = frame_bytes(*kind, content, &check).expect("not too large");
        file.extend(bytes);
        check = next;
    }
    file
}

fn end(records: usize, checkpoints: usize) -> Vec<u8> {
    let number = |count| Value::from(u64::try_from(count).expect("small"));
    let end = Value::map([
        ("checkpoints", number(checkpoints)),
        ("records", number(records)),
    ]);
    encode(&end).expect("written")
}

/// A file of these contents, with checks that are right and an end that counts them: what somebody
/// would write who knows the format, and not the key.
fn forged(contents: &[(FrameKind, Vec<u8>)]) -> Vec<u8> {
    let count = |wanted| contents.iter().filter(|(kind, _)| *kind == wanted).count();
    let mut contents = contents.to_vec();
    let counted = end(count(FrameKind::Record), count(FrameKind::Checkpoint));
    for (kind, content) in &mut contents {
        if *kind == FrameKind::End {
            content.clone_from(&counted);
        }
    }
    framed(&contents)
}

fn contents(file: &[u8]) -> Vec<(FrameKind, Vec<u8>)> {
    let content = |frame: Frame| (frame.kind, frame.content);
    frames(file).into_iter().map(content).collect()
}

fn report(sample: &Sample, file: &[u8]) -> Report {
    verify_export(file, &sample.ring, None).expect("an export")
}

fn files(sample: &Sample) -> [Vec<u8>; 3] {
    [sample.export(0), sample.export(8), sample.evidence(6)]
}

#[test]
fn every_changed_byte_is_found_in_its_frame() {
    let sample = sample();
    for file in files(&sample) {
        let starts: Vec<usize> = frames(&file).iter().map(start).collect();
        for at in 0..file.len() {
            let mut changed = file.clone();
            changed[at] ^= 1 << (at % 8);
            if at < MAGIC.len() {
                assert!(verify_export(&*changed, &sample.ring, None).is_err());
                continue;
            }
            let report = report(&sample, &changed);
            let fault = report.faults.first().expect("a fault");
            let frame = starts.iter().rfind(|start| **start <= at).expect("a frame");
            let place = u64::try_from(*frame).expect("small");
            assert_eq!(fault.byte, place, "byte {at} changed: {fault}");
            // A check alone says nothing of the frames after it.
            let next = starts.iter().find(|start| **start > at);
            if at + CHECK_BYTES >= *next.unwrap_or(&file.len()) {
                assert_eq!(report.faults.len(), 1, "byte {at} changed");
            }
        }
    }
}

#[test]
fn every_cut_is_found_where_it_is() {
    let sample = sample();
    for file in files(&sample) {
        let starts: Vec<usize> = frames(&file).iter().map(start).collect();
        for end in MAGIC.len()..file.len() {
            let report = report(&sample, &file[..end]);
            let fault = report.faults.first().expect("a fault");
            assert_eq!(fault.kind, FaultKind::CutShort, "cut at {end}: {fault}");
            let frame = starts.iter().rfind(|start| **start <= end).copied();
            let place = if starts.contains(&end) {
                Some(end)
            } else {
                frame
            };
            assert_eq!(
                usize::try_from(fault.byte).ok(),
                place,
                "cut at {end}: {fault}"
            );
        }
        for end in 0..MAGIC.len() {
            assert!(verify_export(&file[..end], &sample.ring, None).is_err());
        }
        let longer = [file.as_slice(), b"x"].concat();
        assert!(!report(&sample, &longer).is_clean());
    }
}

#[test]
fn every_frame_dropped_doubled_or_swapped_is_found() {
    let sample = sample();
    for file in files(&sample) {
        let pieces = pieces(&file);
        for at in 0..pieces.len() {
            let mut place = u64::try_from(joined(&pieces[..at]).len()).expect("small");
            let found = |pieces: &[&[u8]], place: u64, what: &str| {
                let report = report(&sample, &joined(pieces));
                let fault = report.faults.first().expect("a fault");
                assert_eq!(fault.byte, place, "frame {at} {what}: {fault}");
            };
            let mut dropped = pieces.clone();
            dropped.remove(at);
            found(&dropped, place, "dropped");
            if at + 1 < pieces.len() {
                let mut swapped = pieces.clone();
                swapped.swap(at, at + 1);
                found(&swapped, place, "swapped");
            }
            let mut doubled = pieces.clone();
            doubled.insert(at, pieces[at]);
            place += u64::try_from(pieces[at].len()).expect("small");
            found(&doubled, place, "doubled");
        }
    }
}

#[test]
fn an_end_that_counts_otherwise_is_found() {
    let sample = sample();
    let mut contents = contents(&sample.export(0));
    let place = contents.len() - 1;
    for (records, checkpoints, is_clean) in [(12, 3, true), (11, 3, false), (12, 2, false)] {
        contents[place].1 = end(records, checkpoints);
        let report = report(&sample, &framed(&contents));
        assert_eq!(report.is_clean(), is_clean, "{:?}", report.faults);
    }
}

/// The records of an export, by the place of their frames.
fn record_frames(contents: &[(FrameKind, Vec<u8>)]) -> Vec<usize> {
    let numbered = contents.iter().enumerate();
    let records = numbered.filter(|(_, (kind, _))| *kind == FrameKind::Record);
    records.map(|(at, _)| at).collect()
}

#[test]
fn every_record_dropped_doubled_or_swapped_is_found_with_right_checks() {
    let sample = sample();
    let contents = contents(&sample.export(0));
    let places = record_frames(&contents);
    for (record, at) in places.iter().enumerate() {
        let record = u64::try_from(record).expect("small");
        let found = |contents: &[(FrameKind, Vec<u8>)], place: u64| {
            let report = report(&sample, &forged(contents));
            let kinds: Vec<FaultKind> = report.faults.iter().map(|fault| fault.kind).collect();
            let is_told = report
                .faults
                .iter()
                .any(|fault| fault.kind == FaultKind::Position && fault.record == Some(place));
            // The last record dropped leaves no gap, but a checkpoint of more records.
            let is_cut = place == 11 && kinds.contains(&FaultKind::Order);
            assert!(is_told || is_cut, "record {record}: {:?}", report.faults);
        };
        let mut dropped = contents.clone();
        dropped.remove(*at);
        found(&dropped, record);
        let mut doubled = contents.clone();
        doubled.insert(*at, contents[*at].clone());
        found(&doubled, record + 1);
        for other in places.iter().filter(|other| *other > at) {
            let mut swapped = contents.clone();
            swapped.swap(*at, *other);
            found(&swapped, record);
        }
    }
}

fn fields(content: &[u8]) -> std::collections::BTreeMap<String, Value> {
    match decode(content).map(Value::from) {
        Ok(Value::Map(fields)) => fields,
        other => panic!("{other:?}"),
    }
}

/// The content of a record's frame with its leaf changed.
fn with_leaf(content: &[u8], change: impl Fn(&mut Leaf)) -> Vec<u8> {
    let mut fields = fields(content);
    let Some(Value::Bytes(leaf)) = fields.get("leaf") else {
        panic!("a leaf");
    };
    let mut leaf = Leaf::parse(leaf).expect("a leaf");
    change(&mut leaf);
    let bytes = leaf.to_bytes().expect("written");
    fields.insert("leaf".to_owned(), Value::Bytes(bytes));
    encode(&Value::Map(fields)).expect("written")
}

#[test]
fn every_record_changed_with_right_checks_is_found_between_two_checkpoints() {
    let sample = sample();
    let contents = contents(&sample.export(0));
    for (record, at) in record_frames(&contents).into_iter().enumerate() {
        let record = u64::try_from(record).expect("small");
        let mut changed = contents.clone();
        changed[at].1 = with_leaf(&contents[at].1, |leaf| leaf.header.instant_ms += 1);
        let report = report(&sample, &forged(&changed));
        let [fault] = report.faults.as_slice() else {
            panic!("{:?}", report.faults);
        };
        assert_eq!(fault.kind, FaultKind::Root);
        let (first, last) = (fault.record.expect("one"), fault.last_record.expect("one"));
        assert!(
            (first..=last).contains(&record) && last - first < 5,
            "{fault}"
        );
    }
}

#[test]
fn records_numbered_anew_after_one_was_dropped_are_found() {
    let sample = sample();
    let contents = contents(&sample.export(0));
    let places = record_frames(&contents);
    for record in 0..places.len() {
        let mut dropped = contents.clone();
        for at in &places[record..] {
            let lower = |leaf: &mut Leaf| leaf.header.position = leaf.header.position.max(1) - 1;
            dropped[*at].1 = with_leaf(&contents[*at].1, lower);
        }
        dropped.remove(places[record]);
        let report = report(&sample, &forged(&dropped));
        let kinds: Vec<FaultKind> = report.faults.iter().map(|fault| fault.kind).collect();
        assert!(!kinds.contains(&FaultKind::Position));
        // Checkpoints stand after fewer records than they are of.
        assert!(kinds.contains(&FaultKind::Order), "{kinds:?}");
        assert!(kinds.contains(&FaultKind::CutShort), "{kinds:?}");
    }
}

#[test]
fn a_changed_body_or_salt_is_found_at_its_record() {
    let sample = sample();
    let contents = contents(&sample.export(0));
    for (record, at) in record_frames(&contents).into_iter().enumerate() {
        if record == 7 {
            continue; // It has none.
        }
        for (name, length) in [("body", 10), ("salt", 32)] {
            for byte in 0..length {
                let mut fields = fields(&contents[at].1);
                let Some(Value::Bytes(bytes)) = fields.get_mut(name) else {
                    panic!("{name}");
                };
                bytes[byte] ^= 1;
                let mut changed = contents.clone();
                changed[at].1 = encode(&Value::Map(fields)).expect("written");
                let report = report(&sample, &forged(&changed));
                let [fault] = report.faults.as_slice() else {
                    panic!("{:?}", report.faults);
                };
                let place = u64::try_from(record).ok();
                assert_eq!((fault.kind, fault.record), (FaultKind::Body, place));
            }
        }
        let mut fields = fields(&contents[at].1);
        fields.remove("salt");
        let mut changed = contents.clone();
        changed[at].1 = encode(&Value::Map(fields)).expect("written");
        assert!(!report(&sample, &forged(&changed)).is_clean());
    }
}

#[test]
fn a_checkpoint_forged_without_the_key_is_found() {
    let honest = sample();
    let mut rewritten = honest.clone();
    rewritten.records[9].leaf.header.principal = "somebody else".to_owned();
    // Signed by a key of the same name that nobody trusts.
    let checkpoint = rewritten.checkpoint(12);
    let note = crate::audit::note::sign_checkpoint(&checkpoint, &[&key(9)]).expect("signed");
    rewritten.checkpoints[2].1 = note;
    let report = report(&honest, &rewritten.export(0));
    let kinds: Vec<FaultKind> = report.faults.iter().map(|fault| fault.kind).collect();
    assert_eq!(kinds, [FaultKind::Checkpoint, FaultKind::NotCovered]);
    assert_eq!(report.faults[1].record, Some(8));
}

/// A checkpoint that is left out takes nothing away: what it covered, the next one covers.
#[test]
fn a_checkpoint_in_the_middle_may_be_left_out_and_the_last_may_not() {
    let sample = sample();
    let contents = contents(&sample.export(0));
    let numbered = contents.iter().enumerate();
    let checkpoints = numbered.filter(|(_, (kind, _))| *kind == FrameKind::Checkpoint);
    for (count, (at, _)) in checkpoints.enumerate() {
        let mut without = contents.clone();
        without.remove(at);
        let report = report(&sample, &forged(&without));
        assert_eq!(report.is_clean(), count < 2, "{:?}", report.faults);
        let mut doubled = contents.clone();
        doubled.insert(at, contents[at].clone());
        assert!(!self::report(&sample, &forged(&doubled)).is_clean());
    }
}

#[test]
fn evidence_with_another_record_proof_or_attachment_is_found() {
    let sample = sample();
    let evidence = contents(&sample.evidence(6));
    let other = contents(&sample.evidence(7));
    let at = |wanted| {
        let found = evidence.iter().position(|(kind, _)| *kind == wanted);
        found.expect("a frame")
    };
    let kinds_of = |changed: &[(FrameKind, Vec<u8>)]| -> Vec<FaultKind> {
        let report = report(&sample, &forged(changed));
        report.faults.iter().map(|fault| fault.kind).collect()
    };
    let with = |wanted: FrameKind, content: Vec<u8>| {
        let mut changed = evidence.clone();
        changed[at(wanted)].1 = content;
        kinds_of(&changed)
    };
    let (record, head) = (at(FrameKind::Record), at(FrameKind::Head));
    assert!(with(FrameKind::Record, other[record].1.clone()).contains(&FaultKind::Proof));
    assert!(with(FrameKind::Head, other[head].1.clone()).contains(&FaultKind::Proof));
    let lied = with_leaf(&evidence[record].1, |leaf| leaf.header.instant_ms += 1);
    assert_eq!(with(FrameKind::Record, lied), [FaultKind::Proof]);
    let numbered = evidence.iter().enumerate();
    for (at, _) in numbered.filter(|(_, (kind, _))| *kind == FrameKind::Attachment) {
        let mut fields = fields(&evidence[at].1);
        if let Some(Value::Bytes(content)) = fields.get_mut("content") {
            content.push(b' ');
        }
        let mut changed = evidence.clone();
        changed[at].1 = encode(&Value::Map(fields.clone())).expect("written");
        assert_eq!(kinds_of(&changed), [FaultKind::Attachment]);
        fields.insert("name".to_owned(), "picture".into());
        changed[at].1 = encode(&Value::Map(fields)).expect("written");
        assert_eq!(kinds_of(&changed), [FaultKind::Attachment]);
        let mut doubled = evidence.clone();
        doubled.insert(at, evidence[at].clone());
        assert_eq!(kinds_of(&doubled), [FaultKind::Attachment]);
    }
}
