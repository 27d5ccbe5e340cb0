//! How often rows decided and were overridden: counted here from the answers themselves.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::outline::{Detail, StepFact, outline};
use loftwright_proto::v1 as pb;
use loftwright_server::files::rules_folder::check_built_in;
use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{ConnectOptions, Connection};

use crate::running::{Running, player, uuid};

/// How often each row stands in the steps of some bags.
fn rows(bags: &[&pb::Recommendation]) -> BTreeMap<(String, u32, u32), u64> {
    let mut rows = BTreeMap::new();
    for decision in bags.iter().flat_map(|bag| &bag.decisions) {
        for step in &decision.steps {
            if let (Some(table), Some(row)) = (step.table, step.row)
                && decision.ending() == pb::Ending::Decided
            {
                *rows.entry((decision.name.clone(), table, row)).or_insert(0) += 1;
            }
        }
    }
    rows
}

fn statistics() -> pb::RowStatisticsRequest {
    pb::RowStatisticsRequest {
        ruleset: "skerry".to_owned(),
        revision: String::new(),
    }
}

#[tokio::test]
async fn rows_are_counted_over_all_records_of_the_revision() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let first = shop.recommend(player(1, "one")).await;
    let second = shop.recommend(player(2, "two")).await;
    let gone = shop.recommend(player(3, "three")).await;
    let length = |reason: &str| pb::BuiltClub {
        name: "7 iron".to_owned(),
        fields: vec![pb::BuiltField {
            name: "length".to_owned(),
            value: "36 in".to_owned(),
            reason: reason.to_owned(),
        }],
        not_built: String::new(),
    };
    let build = |number: u32, supersedes: &str| pb::ConfirmBuildRequest {
        record_id: first.id.clone(),
        request_id: uuid(number),
        clubs: vec![length("he chokes down")],
        supersedes: supersedes.to_owned(),
        validate_only: false,
    };
    let confirmed = shop.confirm(build(11, "")).await.expect("an answer");
    let confirmed = confirmed.record.expect("a record").id;
    shop.confirm(build(12, &confirmed))
        .await
        .expect("an answer");
    let erase = pb::EraseSubjectRequest {
        subject: "three".to_owned(),
        reason: "asked for".to_owned(),
    };
    shop.audit().erase_subject(erase).await.expect("an answer");
    drop(gone);

    let counted = shop.rulesets().row_statistics(statistics()).await;
    let counted = counted.expect("an answer").into_inner();
    assert_eq!(
        (counted.recommendations, counted.erased, counted.builds),
        (2, 1, 1)
    );
    let decided: BTreeMap<_, _> = counted
        .rows
        .iter()
        .filter(|row| row.row > 0 && row.decided > 0)
        .map(|row| ((row.decision.clone(), row.table, row.row), row.decided))
        .collect();
    assert_eq!(decided, rows(&[&first.bag, &second.bag]));
    every_row_is_listed(&counted);
    overrides_are_counted(&first.bag, &counted);
    let near: u64 = counted.rows.iter().map(|row| row.borderline).sum();
    let clubs = |bag: &pb::Recommendation| {
        let near = bag.borderlines.iter();
        let places: std::collections::BTreeSet<_> = near
            .map(|near| (near.decision.clone(), near.club.clone()))
            .collect();
        u64::try_from(places.len()).expect("few")
    };
    assert_eq!(near, clubs(&first.bag) + clubs(&second.bag));
    let text = format!("{counted:?}");
    assert!(
        !text.contains("\"one\"") && !text.contains("chokes"),
        "counts only"
    );
    shop.stop().await;
}

/// As the outline of the rules has them, which is made of what is written.
fn every_row_is_listed(counted: &pb::RowStatisticsResponse) {
    let checked = check_built_in("skerry").expect("the built-in rules");
    let program = checked.program.expect("a program");
    let mut expected = BTreeSet::new();
    for node in outline(&program, &checked.folder).nodes {
        let Detail::Decision { steps, .. } = node.detail else {
            continue;
        };
        let tables = steps.into_iter().filter_map(|step| match step {
            StepFact::Table(table) => Some(table),
            _ => None,
        });
        for (table, rows) in (1..).zip(tables) {
            expected.extend(
                (1..)
                    .zip(rows.rows)
                    .map(|(row, _)| (node.name.clone(), table, row)),
            );
        }
    }
    let listed = counted.rows.iter().filter(|row| row.row > 0);
    let listed: BTreeSet<_> = listed
        .map(|row| (row.decision.clone(), row.table, row.row))
        .collect();
    assert_eq!(listed, expected);
    assert!(
        counted
            .rows
            .iter()
            .all(|row| row.row == 0 || !row.rule.is_empty())
    );
    let choices = counted
        .rows
        .iter()
        .filter(|row| row.decision == "wedge_head");
    assert_eq!(choices.count(), 1, "a choice has a line of its own");
}

/// The length of the 7 iron was overridden once, and nothing else.
fn overrides_are_counted(bag: &pb::Recommendation, counted: &pb::RowStatisticsResponse) {
    let of_length = counted
        .rows
        .iter()
        .filter(|row| row.decision == "club_length");
    let overridden: u64 = of_length.clone().map(|row| row.overridden).sum();
    let steps = bag.decisions.iter().find(|decision| {
        decision.name == "club_length" && decision.club.as_deref() == Some("7 iron")
    });
    let rows_of_it = steps
        .expect("a length")
        .steps
        .iter()
        .filter(|step| step.row.is_some());
    let expected = u64::try_from(rows_of_it.count().max(1)).expect("few");
    assert_eq!(
        overridden, expected,
        "the replaced confirmation is not counted"
    );
    let others = counted
        .rows
        .iter()
        .filter(|row| row.decision != "club_length");
    assert_eq!(others.map(|row| row.overridden).sum::<u64>(), 0);
    assert!(of_length.map(|row| row.built).sum::<u64>() >= 13);
}

/// A house with a row that nobody of the demo comes to.
fn house() -> pb::PublishRulesetRequest {
    let text = "ruleset house\n  title \"A house\"\n  language 1\n  builds on common\n\n\
                decide of_speed : flag\n  source common practice\n  by driver_head_speed\n    \
                under 40 mph gives yes\n    otherwise gives no\n\n\
                decide of_the_house : flag\n  source common practice\n  gives no\n";
    loftwright_testing::to_publish(loftwright_testing::house(text))
}

#[tokio::test]
async fn a_row_that_never_decided_is_listed_and_rules_that_are_gone_are_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let published = shop.rulesets().publish_ruleset(house()).await;
    let identity = published.expect("published").into_inner().identity;
    let revision = identity.expect("an identity").revision;
    let activate = pb::ActivateRulesetRequest {
        ruleset: "house".to_owned(),
        revision: revision.clone(),
        reason: "the spring meeting".to_owned(),
        ..pb::ActivateRulesetRequest::default()
    };
    let activated = shop.rulesets().activate_ruleset(activate).await;
    activated.expect("activated");
    for number in 1..3 {
        let mut asked = player(number, "one");
        asked.ruleset = "house".to_owned();
        // Only skerry asks that.
        asked.readings.remove("bunker_sand");
        shop.recommend(asked).await;
    }
    let of_house = pb::RowStatisticsRequest {
        ruleset: "house".to_owned(),
        revision: String::new(),
    };
    let counted = shop.rulesets().row_statistics(of_house.clone()).await;
    let counted = counted.expect("an answer").into_inner();
    let own = counted
        .rows
        .iter()
        .filter(|row| row.decision.starts_with("of_"));
    let own: Vec<_> = own
        .map(|row| {
            (
                row.decision.as_str(),
                row.row,
                row.decided,
                row.rule.as_str(),
            )
        })
        .collect();
    let expected = [
        ("of_speed", 1, 0, "under 40 mph gives yes"),
        ("of_speed", 2, 2, "otherwise gives no"),
        ("of_the_house", 0, 2, ""),
    ];
    assert_eq!(own, expected);
    assert_eq!(counted.rules_unread, "");
    shop.stop().await;

    let options = SqliteConnectOptions::new().filename(folder.path().join("record.sqlite"));
    let mut database = options.connect().await.expect("the database");
    let gone = format!("DELETE FROM blobs WHERE digest = x'{revision}'");
    let gone = sqlx::raw_sql(sqlx::AssertSqlSafe(gone));
    gone.execute(&mut database).await.expect("done");
    database.close().await.expect("closed");
    let shop = Running::start(folder.path()).await;
    // Records refer to the texts of their rules: without these none is read, and that is said.
    let refused = shop.rulesets().row_statistics(of_house).await;
    let refused = refused.expect_err("the rules are gone");
    assert_eq!(crate::running::reason(&refused), "RECORD_DAMAGED");
    assert!(refused.message().contains(&revision), "{refused:?}");
    shop.stop().await;
}

#[tokio::test]
async fn a_revision_that_nobody_published_has_no_statistics() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let request = pb::RowStatisticsRequest {
        revision: "0".repeat(64),
        ..statistics()
    };
    let refused = shop
        .rulesets()
        .row_statistics(request)
        .await
        .expect_err("no revision");
    assert_eq!(crate::running::reason(&refused), "REVISION_UNKNOWN");
    shop.stop().await;
}
