//! What is kept of rules is gone or another: named, and everything else is served.

use std::path::Path;

use loftwright_proto::v1 as pb;
use sqlx::{ConnectOptions, Connection, SqliteConnection};
use tonic::Code;

use crate::support::{Running, house, player, reason};

pub(crate) async fn behind_its_back(path: &Path, sql: &str) {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(path.join("record.sqlite"));
    let mut connection: SqliteConnection = options.connect().await.expect("a connection");
    let done = sqlx::raw_sql(sqlx::AssertSqlSafe(sql.to_owned()));
    done.execute(&mut connection).await.expect("done");
    connection.close().await.expect("closed");
}

async fn fault_in_list(service: &Running, revision: &str) -> String {
    let request = pb::ListRevisionsRequest {
        ruleset: "house".to_owned(),
        ..pb::ListRevisionsRequest::default()
    };
    let page = service.rulesets().list_revisions(request).await;
    let page = page.expect("a page").into_inner();
    let is_it = |one: &&pb::PublishedRevision| {
        one.identity
            .as_ref()
            .is_some_and(|identity| identity.revision == revision)
    };
    page.revisions
        .iter()
        .find(is_it)
        .expect("the revision")
        .fault
        .clone()
}

#[tokio::test]
async fn a_revision_in_force_whose_source_is_gone_is_named_and_nothing_stands_in_for_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let first = service.publish("", house("First.")).await;
    let second = service.publish("", house("Second.")).await;
    service.activate("", &first, "").await.expect("activated");
    service
        .activate("", &second, &first)
        .await
        .expect("activated");
    service.stop().await;
    behind_its_back(
        folder.path(),
        &format!("DELETE FROM blobs WHERE digest = x'{second}'"),
    )
    .await;

    let service = Running::start(folder.path()).await;
    let refused = service
        .fitting()
        .recommend(player("house"))
        .await
        .expect_err("a refusal");
    assert_eq!(refused.code(), Code::FailedPrecondition);
    assert_eq!(reason(&refused), "REVISION_UNREADABLE");
    assert!(refused.message().contains(&second), "{}", refused.message());
    service
        .fitting()
        .recommend(player("common"))
        .await
        .expect("the rest is served");
    let fault = fault_in_list(&service, &second).await;
    let lost = format!("its source is not kept here any more: the content {second} is missing;");
    assert!(fault.starts_with(&lost), "{fault}");
    assert_eq!(fault_in_list(&service, &first).await, "");
    // It is in force still: whoever replaces it has to say so.
    service
        .activate("", &first, "")
        .await
        .expect_err("another is in force");
    service
        .activate("", &first, &second)
        .await
        .expect("rolled back");
    assert_eq!(service.says().await.0, ["First."]);
    service.stop().await;
}

#[tokio::test]
async fn a_source_that_is_another_is_not_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let first = service.publish("", house("First.")).await;
    let second = service.publish("", house("Second.")).await;
    service.activate("", &second, "").await.expect("activated");
    service.stop().await;
    let other = format!(
        "UPDATE blobs SET content = (SELECT content FROM blobs WHERE digest = x'{second}') \
         WHERE digest = x'{first}'"
    );
    behind_its_back(folder.path(), &other).await;
    let service = Running::start(folder.path()).await;
    assert_eq!(service.says().await.0, ["Second."]);
    let fault = fault_in_list(&service, &first).await;
    let kept = format!("the content {first} is not what was kept");
    assert!(fault.starts_with(&kept), "{fault}");
    let refused = service
        .activate("", &first, &second)
        .await
        .expect_err("a refusal");
    assert_eq!(reason(&refused), "RECORD_DAMAGED");
    assert_eq!(
        service.says().await.0,
        ["Second."],
        "the last good one decides"
    );
    service.stop().await;
}

#[tokio::test]
async fn bad_rules_leave_the_last_good_ones_in_force() {
    let service = Running::in_memory().await;
    let good = service.publish("", house("A word.")).await;
    service.activate("", &good, "").await.expect("activated");
    let broken = crate::support::house_with("A word.", "\ncaution broken : nonsense\n");
    let request = loftwright_testing::to_publish(broken);
    let refused = service.rulesets().publish_ruleset(request).await;
    assert_eq!(reason(&refused.expect_err("a refusal")), "RULES_REFUSED");
    service
        .activate("", &"0".repeat(64), &good)
        .await
        .expect_err("unknown");
    assert_eq!(service.says().await, (vec!["A word.".to_owned()], good));
    service.stop().await;
}
