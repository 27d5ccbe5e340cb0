//! How often rows decided and were overridden: counted here from the answers themselves.

use std::collections::BTreeMap;

use loftwright_proto::v1 as pb;

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
        .filter(|row| row.row > 0)
        .map(|row| ((row.decision.clone(), row.table, row.row), row.decided))
        .collect();
    assert_eq!(decided, rows(&[&first.bag, &second.bag]));
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
