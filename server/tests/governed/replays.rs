//! Past recommendations under a candidate: over the wire, and as the command shows it.

use std::process::Command;

use loftwright_proto::v1 as pb;
use pb::replay_records_response::Piece;

use crate::damaged::lose_content;
use crate::support::{Running, house_with, reason, recorded};

/// A house with one decision of its own by the speed of the driver.
pub(crate) fn by_speed(bound: &str) -> pb::RulesetSource {
    house_with(
        "A word.",
        &format!(
            "\ndecide of_speed : flag\n  source common practice\n  by driver_head_speed\n    \
             under {bound} gives yes because \"Slow.\"\n    otherwise gives no\n"
        ),
    )
}

struct Pieces {
    progress: Vec<pb::ReplayProgress>,
    records: Vec<pb::ReplayedRecord>,
    summary: pb::ReplaySummary,
}

async fn replay(service: &Running, request: pb::ReplayRecordsRequest) -> Pieces {
    let answer = service.rulesets().replay_records(request).await;
    let mut stream = answer.expect("a stream").into_inner();
    let (mut progress, mut records, mut summary) = (Vec::new(), Vec::new(), None);
    while let Some(piece) = stream.message().await.expect("a piece") {
        assert_eq!(summary, None, "the summary is the end");
        match piece.piece.expect("a piece") {
            Piece::Progress(one) => progress.push(one),
            Piece::Record(record) => records.push(record),
            Piece::Summary(end) => summary = Some(end),
        }
    }
    Pieces {
        progress,
        records,
        summary: summary.expect("a summary"),
    }
}

pub(crate) fn of_house(revision: &str) -> pb::ReplayRecordsRequest {
    pb::ReplayRecordsRequest {
        ruleset: "house".to_owned(),
        revision: revision.to_owned(),
        ..pb::ReplayRecordsRequest::default()
    }
}

/// A player who swings the driver so fast.
pub(crate) fn swinging(number: u32, speed: &str) -> pb::RecommendRequest {
    let mut request = recorded("house", number);
    request.subject = format!("player-{number}");
    let reading = pb::Reading {
        value: speed.to_owned(),
        ..pb::Reading::default()
    };
    request
        .readings
        .insert("driver_head_speed".to_owned(), reading);
    request
}

#[tokio::test]
async fn a_candidate_says_whom_it_changes_by_which_rows_and_what_it_cannot_compare() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let old = service.publish("", by_speed("90 mph")).await;
    service.activate("", &old, "").await.expect("activated");
    let mut ids = Vec::new();
    for (number, speed) in [(1, "85 mph"), (2, "92 mph"), (3, "99 mph"), (4, "93 mph")] {
        let answer = service.fitting().recommend(swinging(number, speed)).await;
        let record = answer.expect("an answer").into_inner().record;
        ids.push(record.expect("a record"));
    }
    let erase = pb::EraseSubjectRequest {
        subject: "player-4".to_owned(),
        reason: "asked for".to_owned(),
    };
    service.audit().erase_subject(erase).await.expect("erased");

    // Under the revision that decided, all that can be read are the same.
    let itself = pb::ReplayRecordsRequest {
        with_same: true,
        ..of_house(&old)
    };
    let itself = replay(&service, itself).await;
    let counts =
        |summary: &pb::ReplaySummary| (summary.same, summary.changed, summary.not_comparable);
    assert_eq!(counts(&itself.summary), (3, 0, 1));
    assert_eq!(itself.records.len(), 4);
    assert_eq!(
        itself.records[3].outcome(),
        pb::ReplayOutcome::NotComparable
    );
    assert_eq!(
        itself.records[3].not_comparable(),
        pb::NotComparable::Erased
    );
    let last = itself.progress.last().expect("progress");
    assert_eq!(last.done, last.of);

    // From 90 up to 95 mph it decides otherwise: the player of 92.
    let new = service.publish("", by_speed("95 mph")).await;
    let found = replay(&service, of_house(&new)).await;
    assert_eq!(counts(&found.summary), (2, 1, 1));
    let changed = &found.records[0];
    assert_eq!(changed.record.as_ref(), Some(&ids[1]));
    let [decision] = changed.changed.as_slice() else {
        panic!("{:?}", changed.changed);
    };
    assert_eq!(decision.name, "of_speed");
    let (was, now) = (decision.old.as_ref(), decision.new.as_ref());
    let (was, now) = (was.expect("a side"), now.expect("a side"));
    assert_eq!((was.outcome.as_str(), now.outcome.as_str()), ("no", "yes"));
    assert_eq!(now.rows[0].because.as_deref(), Some("Slow."));
    assert_eq!((was.rows[0].row, now.rows[0].row), (Some(2), Some(1)));
    let most = &found.summary.decisions[0];
    assert_eq!((most.name.as_str(), most.recommendations), ("of_speed", 1));
    assert_eq!(most.example.as_ref(), Some(&ids[1]));

    // No day before the first record has any.
    let early = pb::ReplayRecordsRequest {
        last_day: "2020-01-01".to_owned(),
        ..of_house(&new)
    };
    assert_eq!(counts(&replay(&service, early).await.summary), (0, 0, 0));
    as_the_command_shows_it(&service, &new).await;
    service.stop().await;
}

async fn as_the_command_shows_it(service: &Running, revision: &str) {
    let beginning = revision.get(..12).expect("12 digits").to_owned();
    let arguments = [
        "replay",
        "--ruleset",
        "house",
        "--revision",
        &beginning,
        "--to",
        &service.url,
    ];
    let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
    command.args(arguments);
    let output = tokio::task::spawn_blocking(move || command.output()).await;
    let output = output.expect("no panic").expect("the program starts");
    let text = String::from_utf8_lossy(&output.stdout);
    assert_eq!(output.status.code(), Some(1), "{text}");
    assert!(
        text.starts_with("2 the same, 1 changed, 1 not comparable\n"),
        "{text}"
    );
    assert!(
        text.contains("of_speed: 1 recommendations, mostly from no to yes"),
        "{text}"
    );
    // Standard error is no terminal here: no bar.
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

#[tokio::test]
async fn a_reading_that_the_candidate_does_not_know_is_named_without_its_value() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let input = "\ninput shoe_size : count\n  ask \"Shoe size?\"\n  between 20 and 60\n\n\
                 caution big_feet : shoe_size over 50\n  says \"Mind the stance.\"\n";
    let asks = service.publish("", house_with("A word.", input)).await;
    let forgets = service.publish("", by_speed("90 mph")).await;
    service.activate("", &asks, "").await.expect("activated");
    let mut request = recorded("house", 1);
    let planted = pb::Reading {
        value: "47".to_owned(),
        ..pb::Reading::default()
    };
    request.readings.insert("shoe_size".to_owned(), planted);
    service
        .fitting()
        .recommend(request)
        .await
        .expect("an answer");
    let found = replay(&service, of_house(&forgets)).await;
    let record = &found.records[0];
    assert_eq!(record.not_comparable(), pb::NotComparable::Readings);
    assert_eq!(record.why, "the candidate refuses `readings.shoe_size`");
    service.stop().await;
}

#[tokio::test]
async fn what_cannot_be_replayed_is_refused_by_name() {
    let memory = Running::in_memory().await;
    let refused = async |service: &Running, request| {
        let refused = service.rulesets().replay_records(request).await;
        reason(&refused.expect_err("a refusal"))
    };
    assert_eq!(refused(&memory, of_house("0")).await, "RECORDS_NOT_KEPT");
    memory.stop().await;
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    assert_eq!(refused(&service, of_house("0")).await, "RULESET_UNKNOWN");
    let of_common = pb::ReplayRecordsRequest {
        ruleset: "common".to_owned(),
        ..of_house("0")
    };
    assert_eq!(
        refused(&service, of_common.clone()).await,
        "REVISION_UNKNOWN"
    );
    let of_no_day = pb::ReplayRecordsRequest {
        first_day: "yesterday".to_owned(),
        ..of_common
    };
    assert_eq!(refused(&service, of_no_day).await, "REQUEST_FAULTY");
    service.stop().await;
}

#[tokio::test]
async fn a_record_whose_rules_are_gone_is_named_and_what_would_help_and_the_others_are_replayed() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let gone = service.publish("", by_speed("90 mph")).await;
    let kept = service.publish("", by_speed("91 mph")).await;
    let mut before = String::new();
    for (number, revision) in [(1, &gone), (2, &kept)] {
        let activated = service.activate("", revision, &before).await;
        activated.expect("activated");
        let answer = service
            .fitting()
            .recommend(swinging(number, "80 mph"))
            .await;
        answer.expect("an answer");
        before.clone_from(revision);
    }
    service.stop().await;
    lose_content(folder.path(), &gone).await;

    let service = Running::start(folder.path()).await;
    let found = replay(&service, of_house(&kept)).await;
    assert_eq!((found.summary.same, found.summary.not_comparable), (1, 1));
    let [record] = found.records.as_slice() else {
        panic!("{:?}", found.records);
    };
    assert_eq!(record.not_comparable(), pb::NotComparable::Damaged);
    assert_eq!(
        record.why,
        format!(
            "the rules that decided cannot be read, whose texts it refers to: its source is not \
             kept here any more: the content {gone} is missing; put the data directory back from \
             a backup, or publish the same rules again (evidence packs of its records hold them)"
        )
    );
    service.stop().await;
}
