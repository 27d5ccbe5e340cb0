//! A disk that is full, a flush that fails, and SIGKILL before any one call that writes: of a real
//! process, whose system calls go through `system_calls.c`.

use std::path::{Path, PathBuf};
use std::process::Command;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_client::AuditServiceClient;
use loftwright_proto::v1::fitting_service_client::FittingServiceClient;
use tonic::Code;
use tonic_types::StatusExt;

use crate::killed::{Process, request};

/// Set it for more rounds than a build machine has time for.
const ROUNDS: &str = "LOFTWRIGHT_KILL_ROUNDS";

/// The library that stands before the system's.
fn library(folder: &Path) -> PathBuf {
    let library = folder.join("system_calls.so");
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/record/system_calls.c");
    let status = Command::new("cc")
        .args(["-shared", "-fPIC", "-O1", "-o"])
        .args([&library, &source])
        .arg("-ldl")
        .status()
        .expect("a C compiler, which SQLite needs too");
    assert!(status.success());
    library
}

/// A service whose system calls go through the library.
fn command(library: &Path, data: &Path, kill_at: Option<u32>) -> Command {
    let mut command = Process::command(data);
    command
        .env("LD_PRELOAD", library)
        .env("LOFTWRIGHT_TEST_FOLDER", data);
    if let Some(kill_at) = kill_at {
        command.env("LOFTWRIGHT_TEST_KILL_AT", kill_at.to_string());
    }
    command
}

async fn health(process: &Process) -> i32 {
    let mut health = tonic_health::pb::health_client::HealthClient::new(process.channel.clone());
    let request = tonic_health::pb::HealthCheckRequest::default();
    let answer = health.check(request).await.expect("an answer");
    answer.into_inner().status
}

/// What fails while the file of this ending is there stops the record and nothing else, and once it
/// is gone a new process has all that was acknowledged.
async fn stops_and_comes_back(ending: &str) {
    let folder = tempfile::tempdir().expect("a folder");
    let library = library(folder.path());
    let data = folder.path().join("data");
    let process = Process::start_by(command(&library, &data, None)).await;
    let process = process.expect("started");
    let mut client = FittingServiceClient::new(process.channel.clone());
    let mut kept = Vec::new();
    for number in 0..3 {
        let answer = client.recommend(request(0, 0, number)).await;
        let record = answer.expect("recorded").into_inner().record;
        kept.push(record.expect("a record").id);
    }
    let serving = tonic_health::pb::health_check_response::ServingStatus::Serving;
    assert_eq!(health(&process).await, i32::from(serving));

    let trouble = data.with_extension(ending);
    std::fs::write(&trouble, b"").expect("written");
    for number in 3..5 {
        let status = client.recommend(request(0, 0, number)).await;
        let status = status.expect_err("not recorded");
        let info = status.get_details_error_info().expect("a reason");
        assert_eq!(
            (status.code(), info.reason.as_str()),
            (Code::Unavailable, "RECORD_STOPPED")
        );
    }
    let not_serving = tonic_health::pb::health_check_response::ServingStatus::NotServing;
    assert_eq!(health(&process).await, i32::from(not_serving));
    // What is there can still be read, and a preview leaves nothing.
    let mut audit = AuditServiceClient::new(process.channel.clone());
    let id = kept.first().expect("a record").clone();
    let read = audit.get_record(pb::GetRecordRequest { id }).await;
    assert!(read.is_ok(), "{read:?}");
    let preview = pb::RecommendRequest {
        preview: true,
        request_id: String::new(),
        ..request(0, 0, 9)
    };
    assert!(client.recommend(preview).await.is_ok());

    process.kill();
    std::fs::remove_file(&trouble).expect("removed");
    let process = Process::start(&data).await;
    let (checkpoint, _) = process.checkpoint().await;
    for id in &kept {
        process.find(id, checkpoint.size).await;
    }
    let mut client = FittingServiceClient::new(process.channel.clone());
    let again = client.recommend(request(0, 0, 3)).await;
    assert!(again.is_ok(), "{again:?}");
    process.kill();
}

#[tokio::test]
async fn a_full_disk_stops_the_record_and_loses_nothing() {
    stops_and_comes_back("full").await;
}

#[tokio::test]
async fn a_flush_that_fails_stops_the_record_and_loses_nothing() {
    stops_and_comes_back("failing").await;
}

/// Each round another call that writes is the last: of the making of a log, of a start, of a
/// commit, of a checkpoint, of an erasure.
#[tokio::test]
async fn a_process_killed_before_any_one_call_has_lost_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let library = library(folder.path());
    let data = folder.path().join("data");
    let rounds = std::env::var(ROUNDS).ok();
    let rounds: u32 = rounds.and_then(|rounds| rounds.parse().ok()).unwrap_or(8);
    let mut kept: Vec<String> = Vec::new();
    let mut signed = 0;
    for round in 0..rounds {
        // From the first call on, in strides that share no factor with what one request takes.
        let kill_at = 1 + round * 37 % 211;
        let process = Process::start_by(command(&library, &data, Some(kill_at))).await;
        if let Some(process) = process {
            let mut client = FittingServiceClient::new(process.channel.clone());
            let mut audit = AuditServiceClient::new(process.channel.clone());
            for number in 0.. {
                let Ok(answer) = client.recommend(request(round, 1, number)).await else {
                    break;
                };
                kept.push(answer.into_inner().record.expect("a record").id);
                // A player of whom nothing else is kept.
                let erased = pb::RecommendRequest {
                    subject: format!("erased-{round}-{number}"),
                    ..request(round, 2, number)
                };
                let subject = erased.subject.clone();
                let reason = "asked for".to_owned();
                let erasure = pb::EraseSubjectRequest { subject, reason };
                if client.recommend(erased).await.is_err()
                    || audit.erase_subject(erasure).await.is_err()
                {
                    break;
                }
            }
            process.kill();
        }
        let process = Process::start(&data).await;
        let (checkpoint, _) = process.checkpoint().await;
        assert!(checkpoint.size >= signed, "killed before call {kill_at}");
        signed = checkpoint.size;
        for id in kept.iter().rev().take(20) {
            process.find(id, checkpoint.size).await;
        }
        process.kill();
    }
    assert!(!kept.is_empty());
    let log = crate::support::Log::open(&data).await.expect("whole");
    let root = loftwright_server::store::check_tree(log.store.as_ref()).await;
    assert!(root.is_ok(), "{root:?}");
}
