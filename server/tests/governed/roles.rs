//! Who may ask what: keys, roles, four eyes.

use loftwright_proto::v1 as pb;
use tonic::Code;
use tonic_types::StatusExt;

use crate::support::{Running, allow_own_activation, give, house, key, player, reason, with_key};

const STAFF: &[(&str, &[&str])] = &[
    ("ada", &["editor", "approver"]),
    ("bo", &["approver"]),
    ("till-2", &["caller"]),
];

#[tokio::test]
async fn a_caller_without_a_key_or_role_is_told_what_it_takes() {
    let folder = tempfile::tempdir().expect("a folder");
    give(folder.path(), STAFF).await;
    let service = Running::start(folder.path()).await;
    let recommend = async |key: &str| {
        let asked = with_key(key, player("common"));
        service.fitting().recommend(asked).await.map(|_| ())
    };
    for wrong in ["", "another-key"] {
        let refused = recommend(wrong).await.expect_err("a refusal");
        assert_eq!(refused.code(), Code::Unauthenticated);
        assert_eq!(reason(&refused), "NOT_AUTHENTICATED");
    }
    recommend(&key("till-2")).await.expect("an answer");
    let refused = recommend(&key("bo")).await.expect_err("no caller");
    assert_eq!(refused.code(), Code::PermissionDenied);
    let info = refused.get_details_error_info().expect("an error info");
    assert_eq!(info.reason, "ROLE_LACKING");
    assert_eq!(
        info.metadata.get("roles_needed").map(String::as_str),
        Some("caller")
    );
    assert_eq!(
        info.metadata.get("principal").map(String::as_str),
        Some("bo")
    );
    // Whether it is well is nobody's secret.
    let request = tonic_health::pb::HealthCheckRequest::default();
    let mut health = tonic_health::pb::health_client::HealthClient::new(service.channel.clone());
    health.check(request).await.expect("an answer");
    drop(health);
    service.stop().await;
}

#[tokio::test]
async fn whoever_published_may_not_activate_unless_a_recorded_setting_says_so() {
    let folder = tempfile::tempdir().expect("a folder");
    give(folder.path(), STAFF).await;
    let service = Running::start(folder.path()).await;
    let (ada, bo) = (key("ada"), key("bo"));
    let first = service.publish(&ada, house("First.")).await;
    let refused = service
        .activate(&ada, &first, "")
        .await
        .expect_err("her own");
    assert_eq!(
        (refused.code(), reason(&refused)),
        (Code::PermissionDenied, "OWN_REVISION".into())
    );
    service.activate(&bo, &first, "").await.expect("four eyes");
    let request = pb::InForceRequest {
        ruleset: "house".to_owned(),
        instant: None,
    };
    let found = service.audit().in_force(with_key(&ada, request)).await;
    let found = found.expect("an answer").into_inner();
    let by = |act: Option<pb::GovernanceAct>| act.expect("an act").principal;
    assert_eq!(
        (by(found.published), by(found.activated)),
        ("ada".into(), "bo".into())
    );
    service.stop().await;

    allow_own_activation(folder.path()).await;
    let service = Running::start(folder.path()).await;
    let second = service.publish(&ada, house("Second.")).await;
    service
        .activate(&ada, &second, &first)
        .await
        .expect("a workshop of one");
    service.stop().await;
}

#[tokio::test]
async fn the_same_request_id_of_two_callers_is_two_requests() {
    let folder = tempfile::tempdir().expect("a folder");
    give(
        folder.path(),
        &[("till-1", &["caller"]), ("till-2", &["caller"])],
    )
    .await;
    let service = Running::start(folder.path()).await;
    let ask = async |name: &str| {
        let request = with_key(&key(name), crate::support::recorded("common", 1));
        let answer = service.fitting().recommend(request).await;
        answer.expect("an answer").into_inner().record
    };
    let (first, second) = (ask("till-1").await, ask("till-2").await);
    assert_ne!(first, second);
    assert_eq!(ask("till-1").await, first);
    service.stop().await;
}
