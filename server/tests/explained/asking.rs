//! Why, and why not.

use loftwright_proto::v1 as pb;
use loftwright_testing::{Service, violations};
use pb::explain_record_request::Question;
use pb::why_not_question::Other;
use tonic::Status;

use crate::fetching::player;

async fn ask(
    service: &Service,
    id: &str,
    question: Option<Question>,
) -> Result<pb::ExplainRecordResponse, Status> {
    let request = pb::ExplainRecordRequest {
        id: id.to_owned(),
        question,
    };
    let answer = service.audit().explain_record(request).await?;
    Ok(answer.into_inner())
}

fn why(decision: &str, club: &str) -> Option<Question> {
    Some(Question::Why(pb::WhyQuestion {
        decision: decision.to_owned(),
        club: club.to_owned(),
    }))
}

fn why_not(decision: &str, club: &str, other: Other) -> Option<Question> {
    Some(Question::WhyNot(pb::WhyNotQuestion {
        decision: decision.to_owned(),
        club: club.to_owned(),
        other: Some(other),
    }))
}

fn answer_of(answer: &pb::ExplainRecordResponse) -> &pb::WhyNot {
    let explanation = answer.explanation.as_ref().expect("an explanation");
    explanation.why_not.as_ref().expect("an answer")
}

#[tokio::test]
async fn why_goes_from_the_reading_by_the_row_to_its_reason_and_source() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    let question = why("wedge_bounce", "wedge 52 deg");
    let answer = ask(&service, &id, question).await.expect("an answer");
    let explanation = answer.explanation.expect("an explanation");
    let [decision] = explanation.decisions.as_slice() else {
        panic!("one decision was asked for");
    };
    let report = decision.report.as_ref().expect("a report");
    assert_eq!(report.source.as_deref(), Some("common practice"));
    assert_eq!(
        (report.layer.as_str(), report.replaces.as_deref()),
        ("skerry", Some("common"))
    );
    // The player's file says -7.4 deg; the trade's table gives standard from 5 through 8 deg.
    let step = report.steps.first().expect("a step");
    assert_eq!((step.table, step.row), (Some(1), Some(2)));
    assert_eq!(step.value.as_deref(), Some("standard"));
    assert!(step.because.is_some());
    let nodes: Vec<(&str, pb::ExplainedKind, Option<&str>)> = decision
        .rests_on
        .iter()
        .map(|node| (node.name.as_str(), node.kind(), node.value.as_deref()))
        .collect();
    let sent = "-7.4 deg, spread 1 deg, mean of 8 shots";
    assert!(nodes.contains(&("wedge_attack_angle", pb::ExplainedKind::Reading, Some(sent))));
    assert!(nodes.contains(&("steepness", pb::ExplainedKind::Computed, Some("7.4 deg"))));
    assert!(nodes.contains(&("wedge_loft", pb::ExplainedKind::Decision, Some("52 deg"))));
    let steepness = decision
        .rests_on
        .iter()
        .find(|node| node.name == "steepness");
    assert_eq!(steepness.expect("a node").looks_at, ["wedge_attack_angle"]);
    let place = |name: &str| nodes.iter().position(|(known, ..)| *known == name);
    assert!(place("wedge_attack_angle") < place("steepness"));
    // What was replaced by the house, of what was asked alone.
    let replaced: Vec<&str> = explanation
        .replaced
        .iter()
        .map(|replacement| replacement.decision.as_str())
        .collect();
    assert_eq!(replaced, ["wedge_bounce"]);
    // The record was made without: it is evaluated again, and says so. 8 deg is the row's end.
    let change = decision.nearest_change.as_ref().expect("a change");
    assert_eq!(
        (change.input.as_str(), change.reading.as_str()),
        ("wedge_attack_angle", "-8 deg")
    );
    assert!(decision.nearest_change_is_new);
    let again = explanation.evaluated_again.expect("said");
    assert!(again.is_done && again.sentence.contains("semantics"));
    service.stop().await;
}

#[tokio::test]
async fn a_record_with_its_sureness_is_not_evaluated_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let full = pb::RecommendRequest {
        view: pb::RecommendationView::Full.into(),
        ..player("steady-right-hander", 1)
    };
    let id = service.keep(full).await;
    let question = why("wedge_bounce", "wedge 52 deg");
    let answer = ask(&service, &id, question).await.expect("an answer");
    let explanation = answer.explanation.expect("an explanation");
    let decision = explanation.decisions.first().expect("a decision");
    let change = decision.nearest_change.as_ref().expect("a change");
    assert_eq!(change.reading, "-8 deg");
    assert!(!decision.nearest_change_is_new);
    assert_eq!(explanation.evaluated_again, None);
    service.stop().await;
}

#[tokio::test]
async fn why_not_names_the_first_thing_that_ruled_it_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    // By the table of the rules: high from over 8 deg, and the blow is 7.4 deg steep.
    let question = why_not(
        "wedge_bounce",
        "wedge 52 deg",
        Other::Outcome("high".to_owned()),
    );
    let answer = ask(&service, &id, question).await.expect("an answer");
    let [row] = answer_of(&answer).rows.as_slice() else {
        panic!("one row gives it");
    };
    assert_eq!((row.table, row.row), (1, 3));
    assert_eq!(row.column.as_deref(), Some("steepness"));
    assert_eq!(row.reading.as_deref(), Some("7.4 deg"));
    assert_eq!(row.asks.as_deref(), Some("over 8 deg"));

    // Both are on hand and meet the needs. The mass that is wanted is 60 g, within 10 g, weight 4:
    // 4 · max(0, 1 − |70 − 60| / 10) is nothing, 4 · max(0, 1 − 0 / 10) all.
    let question = why_not("wood_shaft", "driver", Other::Part("S-70-S-M".to_owned()));
    let answer = ask(&service, &id, question).await.expect("an answer");
    let [candidate] = answer_of(&answer).candidates.as_slice() else {
        panic!("one part has the code");
    };
    assert_eq!(candidate.outcome(), pb::CandidateOutcome::Outscored);
    let mass = candidate
        .scores
        .iter()
        .find(|line| line.prefers.contains("mass"));
    let mass = mass.expect("a line");
    assert_eq!(
        (mass.own.as_deref(), mass.taken.as_deref()),
        (Some("0"), Some("4"))
    );
    assert!(candidate.standing.contains("scores 4 less than S-60-S-M"));

    // Another club's loft: the line, what the head is and what was wanted.
    let question = why_not("iron_head", "7 iron", Other::Part("N0136".to_owned()));
    let answer = ask(&service, &id, question).await.expect("an answer");
    let candidate = answer_of(&answer).candidates.first().expect("a candidate");
    assert_eq!(candidate.outcome(), pb::CandidateOutcome::FailsANeed);
    let looked_at: Vec<&str> = candidate
        .looked_at
        .iter()
        .map(|reading| reading.name.as_str())
        .collect();
    assert_eq!(looked_at, ["own_loft", "may_be_bent", "iron_loft"]);
    assert!(answer.text.lines().all(|line| line.chars().count() <= 100));
    service.stop().await;
}

#[tokio::test]
async fn questions_that_name_nothing_of_the_record_say_what_is_there() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = service.keep(player("steady-right-hander", 1)).await;
    let outcome = || Other::Outcome("high".to_owned());
    let row = |row| Other::Row(pb::RowOfTable { table: 1, row });
    let part = || Other::Part("W-1".to_owned());
    let asked = [
        (
            why("wedge_bounse", ""),
            "why.decision",
            "did you mean `wedge_bounce`?",
        ),
        (why("wedge_bounce", "9 wood"), "why.club", "`wedge 52 deg`"),
        (
            why("driver_length", "driver"),
            "why.club",
            "once for the bag",
        ),
        (
            why_not("wedge_bounce", "", outcome()),
            "why_not.club",
            "name one of",
        ),
        (
            why_not("wedge_bounce", "wedge 52 deg", row(9)),
            "why_not.row",
            "table 1 has 3 rows",
        ),
        (
            why_not("wedge_bounce", "wedge 52 deg", part()),
            "why_not.other",
            "no choice of a part",
        ),
        (
            why_not("putter_head", "", outcome()),
            "why_not.other",
            "is a choice of a part",
        ),
        (why_not("putter_head", "", part()), "why_not.part", "`W-1`"),
    ];
    for (question, field, says) in asked {
        let shown = format!("{question:?}");
        let refused = ask(&service, &id, question).await;
        let refused = violations(&refused.expect_err("a refusal"));
        let [(of, sentence)] = refused.as_slice() else {
            panic!("{shown}: one fault");
        };
        assert_eq!(of, field, "{shown}");
        assert!(sentence.contains(says), "{shown}: {sentence}");
    }
    service.stop().await;
}
