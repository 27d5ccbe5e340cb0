//! Lists: filters, pages, tokens.

use loftwright_proto::v1 as pb;
use loftwright_testing::{Service, violations};
use tonic::Status;

use crate::fetching::player;

async fn list(
    service: &Service,
    request: pb::ListRecordsRequest,
) -> Result<pb::ListRecordsResponse, Status> {
    let answer = service.audit().list_records(request).await?;
    Ok(answer.into_inner())
}

/// What players were answered, and what was erased; the log has acts of the house besides.
fn of_players() -> pb::ListRecordsRequest {
    pb::ListRecordsRequest {
        kinds: vec!["recommendation".to_owned(), "erasure".to_owned()],
        ..pb::ListRecordsRequest::default()
    }
}

fn ids(page: &pb::ListRecordsResponse) -> Vec<String> {
    let records = page.records.iter();
    records
        .map(|record| record.record.as_ref().expect("a record").id.clone())
        .collect()
}

/// Five records: four players, of whom one lacks readings, and an erasure.
async fn five(service: &Service) -> Vec<String> {
    let mut made = Vec::new();
    for (number, name) in [
        "steady-right-hander",
        "readings-missing",
        "very-steep",
        "junior",
    ]
    .iter()
    .enumerate()
    {
        let request = pb::RecommendRequest {
            subject: format!("subject-{number}"),
            ..player(name, u32::try_from(number).expect("small"))
        };
        made.push(service.keep(request).await);
    }
    let request = pb::EraseSubjectRequest {
        subject: "subject-3".to_owned(),
        reason: "asked for".to_owned(),
    };
    let erased = service
        .audit()
        .erase_subject(request)
        .await
        .expect("erased");
    made.push(erased.into_inner().record.expect("a record").id);
    made
}

#[tokio::test]
async fn pages_follow_each_other_to_the_end_newest_first() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let mut made = five(&service).await;
    made.reverse();
    let mut request = pb::ListRecordsRequest {
        page_size: 2,
        ..of_players()
    };
    let mut found = Vec::new();
    loop {
        let page = list(&service, request.clone()).await.expect("a page");
        assert!(page.records.len() <= 2);
        found.extend(ids(&page));
        if page.next_page_token.is_empty() {
            break;
        }
        request.page_token = page.next_page_token;
    }
    assert_eq!(found, made);
    let all = list(&service, of_players()).await.expect("a page");
    assert_eq!((ids(&all), all.next_page_token.as_str()), (made, ""));
    let erased: Vec<bool> = all.records.iter().map(|record| record.erased).collect();
    assert_eq!(erased, [false, true, false, false, false]);
    service.stop().await;
}

#[tokio::test]
async fn a_filter_leaves_what_fits() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let made = five(&service).await;
    let missing = pb::ListRecordsRequest {
        outcome: pb::RecordOutcome::NeedsReadings.into(),
        ..pb::ListRecordsRequest::default()
    };
    let page = list(&service, missing).await.expect("a page");
    assert!(ids(&page).contains(&made[1]), "{page:?}");
    assert!(!ids(&page).contains(&made[0]), "{page:?}");
    let erasures = pb::ListRecordsRequest {
        kinds: vec!["erasure".to_owned()],
        ..pb::ListRecordsRequest::default()
    };
    let page = list(&service, erasures).await.expect("a page");
    assert_eq!(ids(&page), made[4..]);
    let revision = list(&service, of_players()).await.expect("a page").records[4]
        .revision
        .clone();
    let of_revision = pb::ListRecordsRequest {
        revision: revision.expect("a revision"),
        ruleset: "skerry".to_owned(),
        kinds: vec!["recommendation".to_owned()],
        ..pb::ListRecordsRequest::default()
    };
    let page = list(&service, of_revision).await.expect("a page");
    assert_eq!(page.records.len(), 4);
    for (first, last) in [("2020-01-01", "2020-12-31"), ("2900-01-01", "")] {
        let of_days = pb::ListRecordsRequest {
            first_day: first.to_owned(),
            last_day: last.to_owned(),
            ..pb::ListRecordsRequest::default()
        };
        let page = list(&service, of_days).await.expect("a page");
        assert!(page.records.is_empty(), "{first}");
    }
    service.stop().await;
}

#[tokio::test]
async fn every_fault_of_a_filter_is_told_at_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let wrong = pb::ListRecordsRequest {
        page_size: -1,
        page_token: "not one".to_owned(),
        first_day: "yesterday".to_owned(),
        last_day: "2026-13-01".to_owned(),
        revision: "abc".to_owned(),
        kinds: vec!["recommendations".to_owned()],
        outcome: 99,
        ..pb::ListRecordsRequest::default()
    };
    let refused = list(&service, wrong).await.expect_err("a refusal");
    let faults = violations(&refused);
    let fields: Vec<&str> = faults.iter().map(|(field, _)| field.as_str()).collect();
    for field in [
        "page_size",
        "page_token",
        "first_day",
        "last_day",
        "revision",
        "kinds[0]",
        "outcome",
    ] {
        assert!(fields.contains(&field), "{field}: {faults:?}");
    }
    assert!(format!("{faults:?}").contains("did you mean `recommendation`?"));
    service.stop().await;
}

#[tokio::test]
async fn a_token_of_another_filter_or_of_another_log_is_refused_by_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    five(&service).await;
    let first = pb::ListRecordsRequest {
        page_size: 2,
        kinds: vec!["recommendation".to_owned()],
        ..pb::ListRecordsRequest::default()
    };
    let page = list(&service, first.clone()).await.expect("a page");
    let next = |token: &str| pb::ListRecordsRequest {
        page_token: token.to_owned(),
        ..first.clone()
    };
    let other_filter = pb::ListRecordsRequest {
        kinds: Vec::new(),
        ..next(&page.next_page_token)
    };
    let refused = list(&service, other_filter).await.expect_err("a refusal");
    let [(field, sentence)] = &violations(&refused)[..] else {
        panic!("one fault");
    };
    assert_eq!(field, "page_token");
    assert!(sentence.contains("of another filter"), "{sentence}");

    let elsewhere = tempfile::tempdir().expect("a folder");
    let other = Service::start(elsewhere.path()).await;
    five(&other).await;
    let foreign = list(&other, first.clone()).await.expect("a page");
    other.stop().await;
    // One bit of the place, and the seal is of another place.
    let mut changed = page.next_page_token.clone();
    let digit = changed.pop().expect("a digit");
    changed.push(if digit == 'A' { 'Q' } else { 'A' });
    for token in [foreign.next_page_token.as_str(), &changed] {
        let refused = list(&service, next(token)).await.expect_err("a refusal");
        let faults = violations(&refused);
        assert!(
            faults[0].1.contains("no page token of this log"),
            "{faults:?}"
        );
    }
    service.stop().await;
}
