//! Revisions listed, read, compared; what is in force at an instant, also after a restart.

use loftwright_proto::v1 as pb;

use crate::support::{Running, house, house_with, player, reason, recorded};

async fn in_force(
    service: &Running,
    instant: Option<prost_types::Timestamp>,
) -> pb::InForceResponse {
    let request = pb::InForceRequest {
        ruleset: "house".to_owned(),
        instant,
    };
    let answer = service.audit().in_force(request).await;
    answer.expect("an answer").into_inner()
}

async fn revisions(service: &Running, size: i32, token: &str) -> pb::ListRevisionsResponse {
    let request = pb::ListRevisionsRequest {
        ruleset: "house".to_owned(),
        page_size: size,
        page_token: token.to_owned(),
    };
    let answer = service.rulesets().list_revisions(request).await;
    answer.expect("a page").into_inner()
}

fn names(page: &pb::ListRevisionsResponse) -> Vec<(String, bool)> {
    let name = |one: &pb::PublishedRevision| {
        let identity = one.identity.as_ref().expect("an identity");
        (identity.revision.clone(), one.in_force)
    };
    page.revisions.iter().map(name).collect()
}

#[tokio::test]
async fn what_was_published_and_put_in_force_is_there_after_a_restart_and_can_be_rolled_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let first = service.publish("", house("First.")).await;
    let second = service.publish("", house("Second.")).await;
    let nothing = in_force(&service, None).await;
    assert_eq!(nothing.state(), pb::InForceState::BeforeTheFirst);
    assert_eq!((nothing.identity, nothing.activated), (None, None));
    let activated = service.activate("", &first, "").await.expect("activated");
    let at_first = in_force(&service, None).await;
    let activated_at = at_first.activated.clone().expect("an act");
    assert_eq!(activated_at.record, activated.record);
    service
        .activate("", &second, &first)
        .await
        .expect("activated");
    assert_eq!(
        service.says().await,
        (vec!["Second.".to_owned()], second.clone())
    );
    service.stop().await;

    let service = Running::start(folder.path()).await;
    assert_eq!(
        service.says().await,
        (vec!["Second.".to_owned()], second.clone())
    );
    let now = in_force(&service, None).await;
    assert_eq!(now.reason, "the spring meeting");
    assert_eq!(now.previous_revision, first);
    let published = now.published.expect("an act");
    assert_eq!(published.principal, "local");
    assert!(published.record.is_some());
    let first_activated = activated_at.instant.expect("an instant");
    let before = prost_types::Timestamp {
        seconds: first_activated.seconds - 1,
        ..first_activated
    };
    let before = in_force(&service, Some(before)).await;
    assert_eq!(before.state(), pb::InForceState::BeforeTheFirst);
    assert_eq!(before.activated, Some(activated_at));
    // Roll back: an older revision is put in force.
    service
        .activate("", &first, &second)
        .await
        .expect("rolled back");
    assert_eq!(
        service.says().await,
        (vec!["First.".to_owned()], first.clone())
    );
    let listed = names(&revisions(&service, 0, "").await);
    assert_eq!(listed, [(second.clone(), false), (first.clone(), true)]);
    service.stop().await;
}

#[tokio::test]
async fn the_program_publishes_what_it_brings_along_once() {
    let folder = tempfile::tempdir().expect("a folder");
    for _ in 0..2 {
        let service = Running::start(folder.path()).await;
        let request = pb::ListRevisionsRequest {
            page_size: 100,
            ..pb::ListRevisionsRequest::default()
        };
        let page = service.rulesets().list_revisions(request).await;
        let page = page.expect("a page").into_inner();
        let by = |one: &pb::PublishedRevision| (one.published_by.clone(), one.in_force);
        let all: Vec<_> = page.revisions.iter().map(by).collect();
        assert!(
            all.len() >= 2
                && all
                    .iter()
                    .all(|one| *one == ("loftwright".to_owned(), true))
        );
        // A publication and an activation each, the stock, and nothing by the second start.
        let note = service
            .audit()
            .get_checkpoint(pb::GetCheckpointRequest {})
            .await;
        let note = note.expect("a checkpoint").into_inner().note;
        let size = note.lines().nth(1).expect("a size");
        assert_eq!(size, (all.len() * 2 + 1).to_string());
        service.stop().await;
    }
}

#[tokio::test]
async fn pages_go_from_the_newest_to_the_oldest_and_take_no_foreign_token() {
    let service = Running::in_memory().await;
    let mut published = Vec::new();
    for number in 0..5 {
        published.push(service.publish("", house(&format!("Word {number}."))).await);
    }
    published.reverse();
    let mut found = Vec::new();
    let mut token = String::new();
    let mut sizes = Vec::new();
    loop {
        let page = revisions(&service, 2, &token).await;
        sizes.push(page.revisions.len());
        found.extend(names(&page).into_iter().map(|(revision, _)| revision));
        token = page.next_page_token;
        if token.is_empty() {
            break;
        }
    }
    assert_eq!((found, sizes), (published, vec![2, 2, 1]));
    let token = revisions(&service, 2, "").await.next_page_token;
    for (ruleset, token, size, field) in [
        ("common", token.as_str(), 2, "page_token"),
        ("house", "bm90IG91cnM", 2, "page_token"),
        ("house", "", 101, "page_size"),
    ] {
        let request = pb::ListRevisionsRequest {
            ruleset: ruleset.to_owned(),
            page_size: size,
            page_token: token.to_owned(),
        };
        let refused = service.rulesets().list_revisions(request).await;
        let refused = refused.expect_err("a refusal");
        assert_eq!(reason(&refused), "REQUEST_FAULTY");
        let bad = tonic_types::StatusExt::get_details_bad_request(&refused).expect("violations");
        assert_eq!(bad.field_violations[0].field, field);
    }
    service.stop().await;
}

#[tokio::test]
async fn the_exact_source_comes_back_and_two_revisions_are_compared_by_regions() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let rows = |bound: &str| {
        format!(
            "\ndecide of_speed : flag\n  by driver_head_speed\n    under {bound} gives yes\n    \
             otherwise gives no\n"
        )
    };
    let sent = house_with("A word.", &rows("90 mph"));
    let old = service.publish("", sent.clone()).await;
    let new = service
        .publish("", house_with("A word.", &rows("95 mph")))
        .await;
    let request = pb::GetRevisionRequest {
        ruleset: "house".to_owned(),
        revision: old.clone(),
    };
    let found = service.rulesets().get_revision(request).await;
    let found = found.expect("a revision").into_inner();
    let layers = found.source.expect("a source").layers;
    let names: Vec<&str> = layers.iter().map(|layer| layer.name.as_str()).collect();
    assert_eq!(names, ["contract", "common", "house"]);
    assert_eq!(layers.last(), sent.layers.last());
    let request = pb::CompareRevisionsRequest {
        ruleset: "house".to_owned(),
        old_revision: old.clone(),
        new_revision: new,
    };
    let compared = service.rulesets().compare_revisions(request).await;
    let compared = compared.expect("a comparison").into_inner();
    assert!(!compared.same_meaning);
    let names: Vec<&str> = compared
        .changes
        .iter()
        .map(|one| one.name.as_str())
        .collect();
    assert_eq!(names, ["of_speed"]);
    let change = &compared.changes[0];
    assert_eq!(change.change(), pb::ChangeKind::Changed);
    // From 90 up to 95 mph, and nowhere else.
    assert_eq!(change.regions.len(), 1);
    let outcome = |side: &Option<pb::RegionOutcome>| side.clone().expect("a side").outcome;
    let region = &change.regions[0];
    assert_eq!(
        (outcome(&region.old), outcome(&region.new)),
        ("no".to_owned(), "yes".to_owned())
    );
    let unknown = pb::CompareRevisionsRequest {
        ruleset: "house".to_owned(),
        old_revision: old,
        new_revision: "0".repeat(64),
    };
    let refused = service.rulesets().compare_revisions(unknown).await;
    assert_eq!(reason(&refused.expect_err("a refusal")), "REVISION_UNKNOWN");
    service.stop().await;
}

#[tokio::test]
async fn an_activation_names_the_callers_whose_readings_the_revision_does_not_know() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let input = "\ninput shoe_size : count\n  between 20 and 60\n\n\
                 caution big_feet : shoe_size over 50\n  says \"Mind the stance.\"\n";
    let asks = service.publish("", house_with("A word.", input)).await;
    let forgets = service.publish("", house("A word.")).await;
    service.activate("", &asks, "").await.expect("activated");
    let mut request = recorded("house", 1);
    let size = pb::Reading {
        value: "44".to_owned(),
        ..pb::Reading::default()
    };
    request.readings.insert("shoe_size".to_owned(), size);
    service
        .fitting()
        .recommend(request)
        .await
        .expect("an answer");
    service
        .fitting()
        .recommend(recorded("house", 2))
        .await
        .expect("an answer");
    let looked = pb::ActivateRulesetRequest {
        validate_only: true,
        ..crate::support::activation(&forgets, &asks)
    };
    let looked = service.rulesets().activate_ruleset(looked).await;
    let looked = looked.expect("looked at").into_inner();
    let expected = pb::CallerWithUnknownReadings {
        principal: "local".to_owned(),
        readings: vec!["shoe_size".to_owned()],
        recommendations: 1,
    };
    assert_eq!(looked.callers_with_unknown_readings, [expected]);
    assert_eq!((looked.recommendations_looked_at, looked.record), (2, None));
    assert_eq!(service.says().await.1, asks, "nothing has changed");
    service.stop().await;
}

#[tokio::test]
async fn a_ruleset_that_never_was_is_named() {
    let service = Running::in_memory().await;
    let request = pb::InForceRequest {
        ruleset: "hose".to_owned(),
        instant: None,
    };
    let refused = service
        .audit()
        .in_force(request)
        .await
        .expect_err("a refusal");
    assert_eq!(reason(&refused), "RULESET_UNKNOWN");
    let refused = service.fitting().recommend(player("hose")).await;
    assert_eq!(reason(&refused.expect_err("a refusal")), "RULESET_UNKNOWN");
    service.stop().await;
}
