//! Requests that are wrong: one clear answer with every fault.

use loftwright_proto::v1 as pb;
use loftwright_testing::Service;
use tonic::{Code, Status};
use tonic_types::StatusExt;

use crate::player;

fn reading(value: &str) -> pb::Reading {
    pb::Reading {
        value: value.to_owned(),
        spread: None,
        shots: None,
    }
}

fn reason(status: &Status) -> String {
    let info = status.get_details_error_info();
    info.expect("every status has an error info").reason
}

async fn refused(request: pb::RecommendRequest) -> Status {
    let service = Service::of_previews().await;
    let refused = service.fitting().recommend(request).await;
    service.stop().await;
    refused.expect_err("a refusal")
}

#[tokio::test]
async fn every_fault_comes_at_once() {
    let mut request = player();
    for (name, value) in [
        ("wedge_attack_angle", "NaN deg"),
        ("driver_head_speed", "97 in"),
        ("height", "12 ft"),
        ("wedge_atack_angle", "-5 deg"),
        ("player_hand", "rihgt"),
    ] {
        request.readings.insert(name.to_owned(), reading(value));
    }
    request.request_id = "not a uuid".to_owned();
    request.kept_clubs.push(pb::KeptClub {
        kind: "spoon".to_owned(),
        loft: Some("1e5 deg".to_owned()),
        ..pb::KeptClub::default()
    });
    let kept = request.kept_clubs.len();
    let status = refused(request).await;
    assert_eq!(status.code(), Code::InvalidArgument);
    assert_eq!(reason(&status), "REQUEST_FAULTY");
    let violations = status
        .get_details_bad_request()
        .expect("violations")
        .field_violations;
    let said = |field: &str| {
        let violation = violations.iter().find(|violation| violation.field == field);
        let violation = violation.unwrap_or_else(|| panic!("no fault of {field}: {violations:?}"));
        violation.description.clone()
    };
    assert!(said("readings.wedge_attack_angle").contains("NaN"));
    assert!(said("readings.driver_head_speed").contains("mph"));
    assert!(said("readings.height").contains("12 ft"));
    // The nearest right name.
    assert!(said("readings.wedge_atack_angle").contains("`wedge_attack_angle`"));
    assert!(said("readings.player_hand").contains("right"));
    assert!(said("request_id").contains("UUID"));
    assert!(said(&format!("kept_clubs[{kept}].kind")).contains("spoon"));
    assert!(said(&format!("kept_clubs[{kept}].loft")).contains("1e5"));
    assert_eq!(violations.len(), 8, "{violations:?}");
}

#[tokio::test]
async fn beyond_fifty_faults_the_rest_is_counted() {
    let mut request = player();
    for number in 0..60 {
        request
            .readings
            .insert(format!("r{number:02}"), reading("1"));
    }
    let status = refused(request).await;
    let violations = status
        .get_details_bad_request()
        .expect("violations")
        .field_violations;
    let info = status.get_details_error_info().expect("an error info");
    assert_eq!(info.metadata.get("faults").map(String::as_str), Some("60"));
    let listed = info
        .metadata
        .get("listed")
        .and_then(|listed| listed.parse().ok());
    assert_eq!(listed, Some(violations.len()));
    assert!((1..=50).contains(&violations.len()));
}

#[tokio::test]
async fn without_a_data_directory_nothing_is_recorded() {
    let status = refused(pb::RecommendRequest {
        preview: false,
        request_id: "123e4567-e89b-42d3-a456-426614174000".to_owned(),
        ..player()
    })
    .await;
    assert_eq!(status.code(), Code::FailedPrecondition);
    assert_eq!(reason(&status), "RECORDS_NOT_KEPT");
    assert!(status.message().contains("preview"));
}

#[tokio::test]
async fn an_unknown_ruleset_is_answered_with_those_there_are() {
    let status = refused(pb::RecommendRequest {
        ruleset: "sherry".to_owned(),
        ..player()
    })
    .await;
    assert_eq!(status.code(), Code::NotFound);
    assert_eq!(reason(&status), "RULESET_UNKNOWN");
    assert!(
        status
            .message()
            .contains("`common`, `saltmarsh` and `skerry`"),
        "{}",
        status.message()
    );
}

#[tokio::test]
async fn a_view_that_is_none_is_a_fault() {
    let status = refused(pb::RecommendRequest {
        view: 99,
        ..player()
    })
    .await;
    assert_eq!(status.code(), Code::InvalidArgument);
    assert!(status.message().contains("99"));
}
