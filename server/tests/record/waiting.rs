//! What a caller is told when he has to come again: the queue is full, or an erasure waits for
//! whoever reads the database.

use std::path::Path;
use std::time::Duration;

use loftwright_proto::v1 as pb;
use loftwright_server::store::RecorderSettings;
use loftwright_testing::{Begin, Service, preview, reason, recorded};
use sqlx::{ConnectOptions, Connection, SqliteConnection};
use tokio::task::JoinSet;
use tonic::{Code, Status};
use tonic_types::StatusExt;

/// Requests at once where one may wait: one is on its way to the disk, one waits.
const CALLERS: u32 = 6;

fn player(number: u32) -> pb::RecommendRequest {
    let mut player = preview("steady-right-hander", "common", "player-7");
    // Only skerry asks that.
    player.readings.remove("bunker_sand");
    recorded(number, player)
}

/// Another program on the database, in a transaction that begins so.
async fn other_program(folder: &Path, begin: &'static str) -> SqliteConnection {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(folder.join("record.sqlite"));
    let mut connection = options.connect().await.expect("a connection");
    let begun = sqlx::raw_sql(begin).execute(&mut connection).await;
    begun.expect("begun");
    connection
}

fn retry_after(refused: &Status) -> Duration {
    let info = refused
        .get_details_retry_info()
        .expect("when to come again");
    info.retry_delay.expect("a time")
}

#[tokio::test]
async fn who_finds_the_queue_full_is_told_when_to_come_again_and_then_is_recorded() {
    let folder = tempfile::tempdir().expect("a folder");
    let begin = Begin {
        data: Some(folder.path()),
        recorder: RecorderSettings {
            most_waiting: 1,
            ..RecorderSettings::default()
        },
        ..Begin::default()
    };
    let service = Service::start_as(begin).await;
    // Nothing can be written meanwhile, so whoever is answered first is refused.
    let writer = other_program(folder.path(), "BEGIN IMMEDIATE").await;
    let mut callers = JoinSet::new();
    for number in 0..CALLERS {
        let mut fitting = service.fitting();
        callers.spawn(async move {
            let request = player(number);
            (request.clone(), fitting.recommend(request).await)
        });
    }
    let (request, answer) = callers
        .join_next()
        .await
        .expect("a caller")
        .expect("no panic");
    let refused = answer.expect_err("the queue is full");
    assert_eq!(refused.code(), Code::ResourceExhausted);
    assert_eq!(reason(&refused), "TOO_MANY_RECORDS_WAITING");
    let info = refused.get_details_error_info().expect("an error info");
    let said = |key: &str| info.metadata.get(key).map(String::as_str);
    assert_eq!(
        (said("limit"), said("most")),
        (Some("records_waiting"), Some("1"))
    );
    assert_eq!(retry_after(&refused), Duration::from_millis(100));
    writer.close().await.expect("closed");

    let others = callers.join_all().await;
    let kept = others.iter().filter(|(_, answer)| answer.is_ok()).count();
    assert!(kept > 0, "what waited is kept");
    for (_, answer) in others {
        if let Err(refused) = answer {
            assert_eq!(reason(&refused), "TOO_MANY_RECORDS_WAITING");
        }
    }
    let again = service.recommend(request).await.expect("there is room");
    assert!(again.record.is_some());
    service.stop().await;
}

#[tokio::test]
async fn an_erasure_that_waits_for_a_reader_is_told_and_done_once_he_is_gone() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player(1)).await;
    let reader = "BEGIN; SELECT count(*) FROM subjects";
    let reader = other_program(folder.path(), reader).await;
    let erase = pb::EraseSubjectRequest {
        subject: "player-7".to_owned(),
        reason: "asked for".to_owned(),
    };
    let refused = service.audit().erase_subject(erase.clone()).await;
    let refused = refused.expect_err("not done yet");
    assert_eq!(refused.code(), Code::Unavailable);
    assert_eq!(reason(&refused), "ERASURE_UNFINISHED");
    assert_eq!(retry_after(&refused), Duration::from_secs(1));
    assert!(
        !refused.message().contains("player-7"),
        "{}",
        refused.message()
    );
    assert!(service.record(&id).await.expect("a record").erased);

    reader.close().await.expect("closed");
    let again = service.audit().erase_subject(erase).await;
    assert_eq!(
        reason(&again.expect_err("nobody is left")),
        "SUBJECT_UNKNOWN"
    );
    service.stop().await;
}
