//! What is kept of rules is gone or another: named, and everything else is served.

use std::path::Path;

use loftwright_proto::v1 as pb;
use sqlx::{ConnectOptions, Connection, SqliteConnection};
use tonic::Code;

use crate::support::{Running, house, player, reason, recorded};

async fn behind_its_back(path: &Path, sql: &str) {
    let options = sqlx::sqlite::SqliteConnectOptions::new().filename(path.join("record.sqlite"));
    let mut connection: SqliteConnection = options.connect().await.expect("a connection");
    let done = sqlx::raw_sql(sqlx::AssertSqlSafe(sql.to_owned()));
    done.execute(&mut connection).await.expect("done");
    connection.close().await.expect("closed");
}

/// A content that is kept is lost.
pub(crate) async fn lose_content(path: &Path, digest: &str) {
    let sql = format!("DELETE FROM blobs WHERE digest = x'{digest}'");
    behind_its_back(path, &sql).await;
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
    lose_content(folder.path(), &second).await;

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

/// What a record of a lost content says: whatever is asked of it names the content, and what helps.
#[tokio::test]
async fn a_record_whose_rules_are_lost_names_the_content_and_publishing_them_again_brings_it_back()
{
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let lost = service.publish("", house("First.")).await;
    let kept = service.publish("", house("Second.")).await;
    service.activate("", &lost, "").await.expect("activated");
    let id = service.keep(recorded("house", 1)).await;
    service.activate("", &kept, &lost).await.expect("activated");
    service.stop().await;
    lose_content(folder.path(), &lost).await;

    let service = Running::start(folder.path()).await;
    let help = format!(
        "its source is not kept here any more: the content {lost} is missing; put the data \
         directory back from a backup, or publish the same rules again (evidence packs of its \
         records hold them)"
    );
    let refused = service.record(&id).await.expect_err("a refusal");
    assert_eq!(reason(&refused), "RECORD_DAMAGED");
    assert!(refused.message().ends_with(&help), "{}", refused.message());
    let explain = pb::ExplainRecordRequest {
        id: id.clone(),
        question: None,
    };
    let refused = service.audit().explain_record(explain).await;
    let refused = refused.expect_err("a refusal");
    assert!(refused.message().ends_with(&help), "{}", refused.message());
    let verified = verified(&service, &id).await;
    assert_eq!(verified.verification(), pb::Verification::NeedsRules);
    assert!(verified.why.ends_with(&help), "{}", verified.why);
    let revision = pb::GetRevisionRequest {
        ruleset: "house".to_owned(),
        revision: lost.clone(),
    };
    let refused = service.rulesets().get_revision(revision).await;
    let refused = refused.expect_err("a refusal");
    assert_eq!(reason(&refused), "REVISION_UNREADABLE");
    assert!(refused.message().contains(&help), "{}", refused.message());

    // Only a look at it changes nothing.
    let look = pb::PublishRulesetRequest {
        validate_only: true,
        ..loftwright_testing::to_publish(house("First."))
    };
    service
        .rulesets()
        .publish_ruleset(look)
        .await
        .expect("known");
    assert!(service.record(&id).await.is_err());
    assert_eq!(service.publish("", house("First.")).await, lost);
    service.record(&id).await.expect("it is read again");
    assert_eq!(fault_in_list(&service, &lost).await, "");
    let verified = self::verified(&service, &id).await;
    assert_eq!(verified.verification(), pb::Verification::Identical);
    assert_eq!(verified.why, "");
    service.stop().await;
}

async fn verified(service: &Running, id: &str) -> pb::VerifyRecordResponse {
    let request = pb::VerifyRecordRequest { id: id.to_owned() };
    let answer = service.audit().verify_record(request).await;
    answer.expect("an answer").into_inner()
}

#[tokio::test]
async fn a_record_whose_parts_are_lost_is_read_and_what_needs_them_names_the_content() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let id = service.keep(recorded("common", 1)).await;
    let record = service.record(&id).await.expect("a record");
    let recommendation = record.recommendation.expect("a recommendation");
    let lost = recommendation.parts.expect("parts").digest;
    service.stop().await;
    lose_content(folder.path(), &lost).await;

    let service = Running::start(folder.path()).await;
    let help = format!(
        "its parts are not kept here any more: the content {lost} is missing; put the data \
         directory back from a backup (evidence packs of its records hold them)"
    );
    service.record(&id).await.expect("a record");
    let verified = verified(&service, &id).await;
    assert_eq!(verified.verification(), pb::Verification::NeedsParts);
    assert_eq!(verified.why, help);
    let explain = pb::ExplainRecordRequest { id, question: None };
    let explained = service.audit().explain_record(explain).await;
    let explained = explained.expect("an answer").into_inner().explanation;
    let explained = explained.expect("an explanation");
    assert_eq!(explained.rules_not_kept(), help);
    service.stop().await;
}

/// Of what it decided the texts could not be read again.
#[tokio::test]
async fn rules_that_are_damaged_where_they_are_kept_do_not_decide_though_the_program_brings_them() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Running::start(folder.path()).await;
    let answer = service.recommend(player("common")).await;
    let recommendation = answer.expect("an answer").recommendation;
    let identity = recommendation.expect("a recommendation").ruleset;
    let revision = identity.expect("an identity").revision;
    service.stop().await;
    let other = format!("UPDATE blobs SET content = zeroblob(9) WHERE digest = x'{revision}'");
    behind_its_back(folder.path(), &other).await;
    let service = Running::start(folder.path()).await;
    let refused = service.recommend(recorded("common", 1)).await;
    let refused = refused.expect_err("a refusal");
    assert_eq!(reason(&refused), "REVISION_UNREADABLE");
    let said = format!("the content {revision} is not what was kept");
    assert!(refused.message().contains(&said), "{}", refused.message());
    service.stop().await;
}
