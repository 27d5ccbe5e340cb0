//! Every fault of a request at once, also those that only the record or the rules in force show.

use loftwright_proto::v1 as pb;
use tonic::{Code, Status};

use crate::running::{Running, player, reason, uuid, violations};

/// An id of the right form that no record has.
const NOBODYS: &str = "0-0123456789abcdef";

fn fields(refused: &Status) -> Vec<String> {
    let faults = violations(refused).into_iter();
    faults.map(|(field, _)| field).collect()
}

async fn refused(shop: &Running, request: pb::RecommendRequest) -> Status {
    let answer = shop.fitting().recommend(request).await;
    answer.expect_err("a refusal")
}

#[tokio::test]
async fn what_is_wrong_with_supersedes_is_told_with_all_the_rest() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let first = shop.recommend(player(1, "one")).await;
    let not_there = pb::RecommendRequest {
        supersedes: NOBODYS.to_owned(),
        ..player(2, "one")
    };
    // Alone it has a code and a reason of its own.
    let alone = refused(&shop, not_there.clone()).await;
    assert_eq!(
        (alone.code(), reason(&alone).as_str()),
        (Code::NotFound, "RECORD_UNKNOWN")
    );
    let mut many = not_there.clone();
    many.view = 99;
    let reading = pb::Reading {
        value: "12 ft".to_owned(),
        ..pb::Reading::default()
    };
    many.readings.insert("height".to_owned(), reading);
    let told = refused(&shop, many.clone()).await;
    assert_eq!(reason(&told), "REQUEST_FAULTY");
    assert_eq!(fields(&told), ["view", "readings.height", "supersedes"]);
    many.supersedes = first.id.clone();
    many.subject = "two".to_owned();
    let told = refused(&shop, many).await;
    assert_eq!(fields(&told), ["view", "readings.height", "supersedes"]);
    let sentence = violations(&told).pop().expect("a fault").1;
    assert!(sentence.contains("of another subject"), "{sentence}");
    // Two of which each would have a reason of its own.
    let nowhere = pb::RecommendRequest {
        ruleset: "sherry".to_owned(),
        ..not_there
    };
    let told = refused(&shop, nowhere).await;
    assert_eq!(fields(&told), ["ruleset", "supersedes"]);
    // Without a subject it is not told besides that the record is another's.
    let nobodys = pb::RecommendRequest {
        supersedes: first.id.clone(),
        ..player(3, "")
    };
    assert_eq!(fields(&refused(&shop, nobodys).await), ["subject"]);

    let build = pb::ConfirmBuildRequest {
        record_id: first.id,
        request_id: uuid(11),
        clubs: vec![pb::BuiltClub {
            name: "8 spoon".to_owned(),
            ..pb::BuiltClub::default()
        }],
        supersedes: NOBODYS.to_owned(),
        validate_only: false,
    };
    let told = shop.confirm(build).await.expect_err("a refusal");
    assert_eq!(fields(&told), ["clubs[0].name", "supersedes"]);
    shop.stop().await;
}

/// The faults of acts that are no recommendation.
#[tokio::test]
async fn acts_tell_all_that_is_wrong_with_them_too() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let erase = pb::EraseSubjectRequest {
        subject: String::new(),
        reason: " ".to_owned(),
    };
    let told = shop.audit().erase_subject(erase).await;
    let told = told.expect_err("nobody, and no reason");
    assert_eq!(fields(&told), ["subject", "reason"]);
    let activate = pb::ActivateRulesetRequest {
        ruleset: "skerry".to_owned(),
        revision: "0".repeat(64),
        ..pb::ActivateRulesetRequest::default()
    };
    let told = shop.rulesets().activate_ruleset(activate).await;
    let told = told.expect_err("no revision, and no reason");
    assert_eq!(fields(&told), ["reason", "revision"]);
    let export = pb::ExportRecordRequest {
        id: NOBODYS.to_owned(),
        since: "no note".to_owned(),
    };
    let told = shop.audit().export_record(export).await;
    let told = told.expect_err("no record, and no checkpoint");
    assert_eq!(fields(&told), ["id", "since"]);
    shop.stop().await;
}
