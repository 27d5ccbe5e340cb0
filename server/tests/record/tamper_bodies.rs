//! What stands beside records and follows from their bodies alone: whoever checks a data directory
//! reads the bodies, and finds what is another.

use std::path::Path;
use std::process::Command;

use loftwright_proto::v1 as pb;
use loftwright_testing::{Service, preview, recorded, uuid};

use crate::support::{behind_its_back, image};

fn player(number: u32, supersedes: &str) -> pb::RecommendRequest {
    let player = preview("steady-right-hander", "skerry", "player-7");
    pb::RecommendRequest {
        supersedes: supersedes.to_owned(),
        ..recorded(number, player)
    }
}

/// The code and the words with which `check-log` ends.
fn checked(folder: &Path) -> (Option<i32>, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
    command.arg("check-log").arg("--data").arg(folder);
    let output = command.output().expect("a process");
    let said = String::from_utf8(output.stdout).expect("text");
    (output.status.code(), said)
}

#[tokio::test]
async fn what_follows_from_a_body_alone_is_compared_with_it() {
    let whole = tempfile::tempdir().expect("a folder");
    let service = Service::start(whole.path()).await;
    let first = service.keep(player(1, "")).await;
    let second = service.keep(player(2, &first)).await;
    let build = pb::ConfirmBuildRequest {
        record_id: second.clone(),
        request_id: uuid(11),
        ..pb::ConfirmBuildRequest::default()
    };
    service.fitting().confirm_build(build).await.expect("built");
    service.stop().await;
    let (code, said) = checked(whole.path());
    assert_eq!(code, Some(0), "{said}");

    let at = |id: &str| id.split_once('-').expect("an id").0.to_owned();
    let (first, second) = (at(&first), at(&second));
    let of_subject = "its subject would not be found again";
    let changes = [
        (
            "UPDATE log SET secret = zeroblob(32)".to_owned(),
            of_subject,
        ),
        (
            "UPDATE subjects SET subject_hash = zeroblob(32)".to_owned(),
            of_subject,
        ),
        (
            "UPDATE subjects SET salt = zeroblob(32)".to_owned(),
            "the salt of its subject",
        ),
        (
            format!("UPDATE records SET request_contents = zeroblob(32) WHERE first = {first}"),
            "its request would not be known again",
        ),
        (
            format!("UPDATE facts SET outcome = 'limits broken' WHERE position = {first}"),
            "another outcome",
        ),
        (
            format!("UPDATE facts SET outcome = NULL WHERE position = {first}"),
            "another outcome",
        ),
        (
            format!("UPDATE facts SET about = NULL WHERE position = {second}"),
            "replaces another record",
        ),
        (
            format!("UPDATE facts SET about = {first} WHERE kind = 'build confirmed'"),
            "the build of another record",
        ),
    ];
    for (change, expected) in changes {
        let folder = tempfile::tempdir().expect("a folder");
        image(whole.path(), folder.path());
        behind_its_back(folder.path(), &change).await;
        let (code, said) = checked(folder.path());
        assert_eq!(code, Some(1), "{change}: {said}");
        assert!(
            said.starts_with("record ") && said.contains(expected),
            "{change}: {said}"
        );
    }
}
