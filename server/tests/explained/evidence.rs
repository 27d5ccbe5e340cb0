//! Evidence as an auditor asks for it a year later: from an id, verified without the service,
//! against a checkpoint that he kept.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use loftwright_proto::v1 as pb;
use loftwright_server::audit::export::{OlderCheckpoint, Report, verify_export};
use loftwright_server::audit::note::{KeyRing, open_checkpoint};
use loftwright_testing::{Service, violations};

use crate::fetching::player;

async fn checkpoint(service: &Service) -> pb::GetCheckpointResponse {
    let request = pb::GetCheckpointRequest {};
    let answer = service.audit().get_checkpoint(request).await;
    answer.expect("a checkpoint").into_inner()
}

async fn pack(service: &Service, id: &str, since: &str) -> Result<Vec<u8>, tonic::Status> {
    let request = pb::ExportRecordRequest {
        id: id.to_owned(),
        since: since.to_owned(),
    };
    let mut pieces = service.audit().export_record(request).await?.into_inner();
    let mut pack = Vec::new();
    while let Some(piece) = pieces.message().await? {
        pack.extend(piece.piece);
    }
    Ok(pack)
}

fn verified(pack: &[u8], key: &str, kept: Option<&str>) -> Report {
    let ring = KeyRing::parse(key).expect("a key");
    let kept = kept.map(|note| {
        let opened = open_checkpoint(note.as_bytes(), &ring);
        opened.expect("signed").0
    });
    verify_export(pack, &ring, kept.as_ref()).expect("an export")
}

fn command(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_loftwright"))
        .args(arguments)
        .output()
        .expect("the program runs")
}

fn path(folder: &Path, name: &str) -> String {
    folder.join(name).display().to_string()
}

#[tokio::test]
async fn evidence_holds_the_record_its_rules_and_parts_and_goes_on_from_what_was_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let kept = checkpoint(&service).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    for number in 2..5 {
        service.keep(player("very-steep", number)).await;
    }
    let key = kept.verifier_key.as_str();
    let without = pack(&service, &id, "").await.expect("a pack");
    let report = verified(&without, key, None);
    assert_eq!(report.faults, []);
    assert_eq!(report.attachments, ["rules", "parts"]);
    assert_eq!(report.bodies_as_committed, 1);
    // Of another size, and without the proof nothing can be said of it.
    let report = verified(&without, key, Some(&kept.note));
    assert_eq!(report.faults.len(), 1);
    let with = pack(&service, &id, &kept.note).await.expect("a pack");
    let report = verified(&with, key, Some(&kept.note));
    assert_eq!(report.faults, []);
    assert!(matches!(
        report.older_checkpoint,
        OlderCheckpoint::Continued(_)
    ));
    // Each pack that is handed out is a read of the record.
    let reads = pb::ListRecordsRequest {
        kinds: vec!["read by a person".to_owned()],
        ..pb::ListRecordsRequest::default()
    };
    let reads = service.audit().list_records(reads).await.expect("a list");
    assert_eq!(reads.into_inner().records.len(), 2);

    let elsewhere = tempfile::tempdir().expect("a folder");
    let other = Service::start(elsewhere.path()).await;
    let foreign = checkpoint(&other).await.note;
    other.stop().await;
    for since in [foreign.as_str(), "no note"] {
        let refused = pack(&service, &id, since).await;
        let faults = violations(&refused.expect_err("a refusal"));
        assert_eq!(faults[0].0, "since", "{faults:?}");
    }
    service.stop().await;
}

#[tokio::test]
async fn the_commands_write_what_verify_log_accepts() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let service = Service::start(&data).await;
    let kept = checkpoint(&service).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    let erased = pb::RecommendRequest {
        subject: "erased".to_owned(),
        ..player("very-steep", 2)
    };
    service.keep(erased).await;
    let erase = pb::EraseSubjectRequest {
        subject: "erased".to_owned(),
        reason: "asked for".to_owned(),
    };
    service.audit().erase_subject(erase).await.expect("erased");
    service.stop().await;
    let file = |name: &str| path(folder.path(), name);
    fs::write(file("kept.note"), &kept.note).expect("a note");
    fs::write(file("keys"), &kept.verifier_key).expect("a key");
    let data = data.display().to_string();
    let (evidence, log) = (file("record.evidence"), file("log.export"));
    let since = file("kept.note");
    let keys = file("keys");
    let written = command(&[
        "export-record",
        &id,
        "--data",
        &data,
        "-o",
        &evidence,
        "--since",
        &since,
    ]);
    assert!(written.status.success(), "{written:?}");
    let written = command(&["export-log", "--data", &data, "-o", &log]);
    assert!(written.status.success(), "{written:?}");
    for (export, says) in [(&evidence, "rules, parts"), (&log, "1 not handed out")] {
        let verified = command(&["verify-log", export, "--key", &keys, "--checkpoint", &since]);
        let said = String::from_utf8_lossy(&verified.stdout);
        assert!(verified.status.success(), "{said}");
        assert!(
            said.contains("No fault") && said.contains("the log continues"),
            "{said}"
        );
        assert!(said.contains(says), "{said}");
    }
    let unknown = command(&["export-record", "1-00", "--data", &data, "-o", &evidence]);
    assert_eq!(unknown.status.code(), Some(2), "{unknown:?}");
}

/// What was signed before the key was changed still verifies by the keys that are handed out after
/// it, and nobody needs a key that he was not given.
#[tokio::test]
async fn what_the_old_key_signed_verifies_after_the_key_was_changed() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let file = |name: &str| path(folder.path(), name);
    let (data_text, old_log, log, evidence) = (
        data.display().to_string(),
        file("old.export"),
        file("log.export"),
        file("record.evidence"),
    );
    let service = Service::start(&data).await;
    let kept = checkpoint(&service).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    service.stop().await;
    let (since, old_key) = (file("kept.note"), file("old.key"));
    fs::write(&since, &kept.note).expect("a note");
    fs::write(&old_key, &kept.verifier_key).expect("a key");
    let done = |arguments: &[&str]| {
        let output = command(arguments);
        assert!(output.status.success(), "{arguments:?}: {output:?}");
        String::from_utf8(output.stdout).expect("text")
    };
    done(&["export-log", "--data", &data_text, "-o", &old_log]);
    let ring = done(&["log-key", "rotate", "--data", &data_text]);
    assert_eq!(ring.lines().count(), 2, "{ring}");

    let service = Service::start(&data).await;
    service.keep(player("very-steep", 2)).await;
    let newer = checkpoint(&service).await;
    assert_eq!(newer.verifier_keys, ring);
    assert!(ring.contains(&newer.verifier_key) && newer.verifier_key != kept.verifier_key);
    let by_service = pack(&service, &id, &kept.note).await.expect("a pack");
    service.stop().await;
    let said = done(&["export-log", "--data", &data_text, "-o", &log]);
    assert!(said.ends_with(&ring), "{said}");
    let with_data = ["export-record", &id, "--data", &data_text, "-o", &evidence];
    done(&[&with_data[..], &["--since", &since]].concat());

    // By the keys that the files name themselves.
    let named = fs::read(&evidence).expect("the pack");
    for content in [&by_service, &named, &fs::read(&log).expect("the log")] {
        for line in ring.lines() {
            let has = |bytes: &[u8]| bytes == line.as_bytes();
            assert!(content.windows(line.len()).any(has), "{line}");
        }
    }
    let keys = file("keys");
    fs::write(&keys, &ring).expect("keys");
    for export in [&old_log, &log, &evidence] {
        let verify = ["verify-log", export, "--key", &keys, "--checkpoint", &since];
        let said = done(&verify);
        assert!(said.contains("the log continues the checkpoint"), "{said}");
    }
    assert_eq!(verified(&by_service, &ring, Some(&kept.note)).faults, []);
    // The old key alone does not speak for what came after it.
    let alone = command(&["verify-log", &log, "--key", &old_key]);
    let said = String::from_utf8_lossy(&alone.stdout);
    assert_eq!(alone.status.code(), Some(1), "{said}");
    assert!(
        said.contains("no checkpoint by a key that you trust"),
        "{said}"
    );
}
