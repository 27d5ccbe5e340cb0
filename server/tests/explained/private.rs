//! What a player tells in confidence stays in his record: it is not in the service's log at its
//! finest, not in a refusal, not in a list, not in what a replay tells of whom it changes.
//!
//! Every `private` input of the rules gets a value that stands nowhere else, and so does the
//! subject. Then all is asked that can be asked, with every event and span of the program and its
//! libraries written down, and what was written is searched for the values.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use loftwright_proto::v1 as pb;
use loftwright_testing::{reason, to_publish, uuid};
use pb::explain_record_request::Question;
use tonic::Code;

use crate::fetching::get;
use crate::planted::{
    OF_A_CHILD, OF_A_PLAYER, SUBJECT, Service, found, planted_child, planted_player, told,
};

#[test]
fn every_private_input_has_a_planted_value() {
    let rulesets = Path::new(env!("CARGO_MANIFEST_DIR")).join("../rulesets");
    let mut private = BTreeSet::new();
    for folder in std::fs::read_dir(rulesets).expect("folders") {
        for file in std::fs::read_dir(folder.expect("a folder").path()).expect("files") {
            let file = file.expect("a file").path();
            if file
                .extension()
                .is_none_or(|extension| extension != "rules")
            {
                continue;
            }
            let mut input = String::new();
            for line in std::fs::read_to_string(&file).expect("rules").lines() {
                let line = line.strip_prefix("replace ").unwrap_or(line);
                if let Some(rest) = line.strip_prefix("input ") {
                    input = rest.split([' ', ':']).next().expect("a name").to_owned();
                }
                if line.trim() == "private" || line.trim().starts_with("private ") {
                    private.insert(input.clone());
                }
            }
        }
    }
    let planted = OF_A_PLAYER.into_iter().chain(OF_A_CHILD);
    let planted = planted.map(|(name, _)| name.to_owned()).collect();
    assert_eq!(private, planted);
}

/// What the service says to requests and questions with faults beside the planted values.
async fn refused_in_many_ways(service: &Service, id: &str) -> String {
    let mut refusals = String::new();
    // Another request under the same id, one with faults beside the private readings, one that
    // replaces what is not there.
    let mut other = planted_player(1);
    other.readings.remove("wedge_attack_angle");
    let refused = service.fitting().recommend(other).await;
    refusals.push_str(&told(&refused.expect_err("another request")));
    let mut faulty = planted_player(2);
    faulty
        .readings
        .insert("no_such_input".to_owned(), pb::Reading::default());
    faulty.view = 99;
    faulty.supersedes = "0-0123456789abcdef".to_owned();
    let refused = service.fitting().recommend(faulty).await;
    let refused = refused.expect_err("a fault");
    assert_eq!(reason(&refused), "REQUEST_FAULTY");
    refusals.push_str(&told(&refused));
    for question in [
        None,
        Some(Question::Why(pb::WhyQuestion {
            decision: "length_change".to_owned(),
            club: String::new(),
        })),
        Some(Question::Why(pb::WhyQuestion {
            decision: "no_such".to_owned(),
            club: String::new(),
        })),
    ] {
        let request = pb::ExplainRecordRequest {
            id: id.to_owned(),
            question,
        };
        match service.audit().explain_record(request).await {
            Ok(_) => {}
            Err(refused) => refusals.push_str(&told(&refused)),
        }
    }
    let erase = pb::EraseSubjectRequest {
        subject: SUBJECT.to_owned(),
        reason: String::new(),
    };
    let refused = service.audit().erase_subject(erase).await;
    refusals.push_str(&told(&refused.expect_err("a reason is missing")));
    let erase = pb::EraseSubjectRequest {
        subject: format!("{SUBJECT}-of-another"),
        reason: "asked for".to_owned(),
    };
    let refused = service.audit().erase_subject(erase).await;
    let refused = refused.expect_err("nobody");
    assert_eq!(refused.code(), Code::NotFound);
    refusals.push_str(&told(&refused));
    refusals
}

/// The record of a request that is made, in which what is searched for is found.
async fn record_of(service: &Service, request: pb::RecommendRequest) -> String {
    let answer = service.fitting().recommend(request).await;
    let id = answer
        .expect("an answer")
        .into_inner()
        .record
        .expect("a record")
        .id;
    let request = pb::GetRecordRequest { id: id.clone() };
    let record = service.audit().get_record(request).await;
    let record = format!("{:?}", record.expect("a record").into_inner());
    assert!(found(&record).len() >= 4, "{:?}", found(&record));
    id
}

#[tokio::test]
async fn nothing_of_a_player_leaves_his_record() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let id = record_of(&service, planted_player(1)).await;
    let refusals = refused_in_many_ways(&service, &id).await;
    let verify = pb::VerifyRecordRequest { id: id.clone() };
    let verified = service.audit().verify_record(verify).await;
    let verified = verified.expect("compared").into_inner();
    assert_eq!(verified.differences, Vec::<String>::new());
    let list = pb::ListRecordsRequest::default();
    let list = service.audit().list_records(list).await.expect("a list");
    let list = format!("{:?}", list.into_inner());
    let (_, page) = get(service.pages, &format!("/records/{id}/why/length_change")).await;
    assert!(
        page.contains("5 ft 7 3/16 in"),
        "the page is for an auditor"
    );
    let (_, index) = get(service.pages, "/records").await;
    let (_, lost) = get(service.pages, &format!("/records/{id}/why/nothing")).await;
    let log = service.stop();
    assert!(
        log.contains("TRACE"),
        "it said nothing at its finest: {log}"
    );
    for (what, text) in [
        ("the log", &log),
        ("a refusal", &refusals),
        ("a list", &list),
        ("the list as a page", &index),
        ("the page of what is not there", &lost),
    ] {
        assert_eq!(found(text), BTreeSet::new(), "{what}");
    }
}

/// A house that decides by what is told in confidence, up to these bounds.
fn house(years: u32, growth: &str, mass: &str, hurts: &str) -> pb::PublishRulesetRequest {
    let decide = |name: &str, by: &str, rows: &str| {
        format!(
            "decide {name} : flag\n  source common practice\n  by {by}, if unknown gives no\n{rows}\n"
        )
    };
    let below = |bound: &str| format!("    under {bound} gives yes\n    otherwise gives no\n");
    let text = [
        "ruleset house\n  title \"A house\"\n  language 1\n  builds on saltmarsh\n".to_owned(),
        decide("of_age", "age", &below(&years.to_string())),
        decide("of_growth", "growth_in_twelve_months", &below(growth)),
        decide("of_mass", "body_mass", &below(mass)),
        decide(
            "of_hands",
            "sore_hands",
            &format!("    yes gives {hurts}\n    no gives no\n"),
        ),
        decide(
            "of_pain",
            "pain",
            &format!("    yes gives {hurts}\n    no gives no\n"),
        ),
        decide(
            "of_guardian",
            "guardian_agreed",
            &format!("    yes gives {hurts}\n    no gives no\n"),
        ),
    ];
    to_publish(loftwright_testing::house(text.join("\n")))
}

async fn published(service: &Service, house: pb::PublishRulesetRequest) -> String {
    let published = service.rulesets().publish_ruleset(house).await;
    let identity = published.expect("published").into_inner().identity;
    identity.expect("an identity").revision
}

/// Every piece of a replay.
async fn replayed(service: &Service, revision: &str) -> String {
    let request = pb::ReplayRecordsRequest {
        ruleset: "house".to_owned(),
        revision: revision.to_owned(),
        with_same: true,
        ..pb::ReplayRecordsRequest::default()
    };
    let pieces = service.rulesets().replay_records(request).await;
    let mut pieces = pieces.expect("a stream").into_inner();
    let mut text = String::new();
    while let Some(piece) = pieces.message().await.expect("a piece") {
        text.push_str(&format!("{piece:?}\n"));
    }
    text
}

/// All that a command says, on both ways.
async fn said(arguments: &[&str]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loftwright"));
    command.args(["--log", "trace"]).args(arguments);
    let output = tokio::task::spawn_blocking(move || command.output()).await;
    let output = output.expect("no panic").expect("the program runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    format!("{}\n{}", text(&output.stdout), text(&output.stderr))
}

/// Whom a change of the rules changes is told by his record alone, though every decision that
/// changes rests on what he told in confidence.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn nothing_of_a_child_leaves_its_record_when_rules_change() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let first = published(&service, house(8, "2 in", "30 kg", "yes")).await;
    let activate = pb::ActivateRulesetRequest {
        ruleset: "house".to_owned(),
        revision: first.clone(),
        reason: "the spring meeting".to_owned(),
        ..pb::ActivateRulesetRequest::default()
    };
    let activated = service.rulesets().activate_ruleset(activate).await;
    activated.expect("activated");
    let id = record_of(&service, planted_child("house", 1)).await;
    let build = pb::ConfirmBuildRequest {
        record_id: id.clone(),
        request_id: uuid(11),
        ..pb::ConfirmBuildRequest::default()
    };
    let built = service.fitting().confirm_build(build).await.expect("built");
    let second = published(&service, house(12, "3 in", "40 kg", "no")).await;

    let replay = replayed(&service, &second).await;
    for name in [
        "of_age",
        "of_growth",
        "of_mass",
        "of_hands",
        "of_pain",
        "of_guardian",
    ] {
        assert!(replay.contains(name), "{name} changes: {replay}");
    }
    let of_house = pb::RowStatisticsRequest {
        ruleset: "house".to_owned(),
        revision: first.clone(),
    };
    let counts = service.rulesets().row_statistics(of_house).await;
    let (house, page) = (format!("/rulesets/house/revisions/{first}"), service.pages);
    let (_, page) = get(page, &house).await;
    let beginning = second.get(..12).expect("12 digits");
    let to = service.url.clone();
    let command = [
        "replay",
        "--ruleset",
        "house",
        "--revision",
        beginning,
        "--to",
        &to,
    ];
    let command = said(&command).await;
    assert!(command.contains("of_growth"), "{command}");
    let log = service.stop();
    for (what, text) in [
        ("the log", log),
        ("a replay", replay),
        ("the replay as it is shown", command),
        ("the counts of rows", format!("{counts:?}")),
        ("the page of the rules", page),
        ("a build", format!("{built:?}")),
    ] {
        assert_eq!(found(&text), BTreeSet::new(), "{what}");
    }
}

#[tokio::test]
async fn a_private_reading_that_is_wrong_is_told_to_the_caller_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let mut refusals = Vec::new();
    for (number, (name, _)) in (1..).zip(OF_A_CHILD) {
        let mut request = planted_child("saltmarsh", number);
        let wrong = pb::Reading {
            value: format!("planted-{name}-8813"),
            ..pb::Reading::default()
        };
        request.readings.insert(name.to_owned(), wrong);
        let refused = service.fitting().recommend(request).await;
        refusals.push(told(&refused.expect_err("no such value")));
    }
    let log = service.stop();
    assert!(log.contains("TRACE") && !log.contains("-8813"), "{log}");
    for (refusal, (name, _)) in refusals.iter().zip(OF_A_CHILD) {
        assert!(
            refusal.contains(&format!("planted-{name}-8813")),
            "{refusal}"
        );
        assert_eq!(found(refusal), BTreeSet::new());
    }
}
