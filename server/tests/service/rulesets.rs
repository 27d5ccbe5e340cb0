//! Rules brought to a running service: looked at, kept, put in force.

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::ruleset_service_client::RulesetServiceClient;
use loftwright_testing::{Service, reason, to_publish, violations};
use tonic::transport::Channel;
use tonic::{Code, Status};

use crate::player;

/// A house on the built-in one with one caution of its own.
fn house(says: &str) -> pb::RulesetSource {
    let rules = format!(
        "ruleset house\n  title \"A house\"\n  language 1\n  builds on skerry\n\n\
         caution from_the_house : player_hand is right\n  says \"{says}\"\n"
    );
    source("house", "house.rules", &rules)
}

fn source(layer: &str, file: &str, text: &str) -> pb::RulesetSource {
    pb::RulesetSource {
        layers: vec![pb::RulesLayer {
            name: layer.to_owned(),
            files: vec![pb::RulesFile {
                name: file.to_owned(),
                text: text.to_owned(),
            }],
        }],
    }
}

fn client(service: &Service) -> RulesetServiceClient<Channel> {
    RulesetServiceClient::new(service.channel.clone())
}

async fn publish(service: &Service, source: pb::RulesetSource) -> pb::PublishRulesetResponse {
    let answer = client(service).publish_ruleset(to_publish(source)).await;
    answer.expect("clean rules are taken").into_inner()
}

async fn refused(service: &Service, source: pb::RulesetSource) -> Status {
    let answer = client(service).publish_ruleset(to_publish(source)).await;
    answer.expect_err("a refusal")
}

fn activation(revision: &str, expected: &str) -> pb::ActivateRulesetRequest {
    pb::ActivateRulesetRequest {
        ruleset: "house".to_owned(),
        revision: revision.to_owned(),
        expected_revision: expected.to_owned(),
        reason: "the spring meeting decided so".to_owned(),
        validate_only: false,
    }
}

fn revision(published: &pb::PublishRulesetResponse) -> String {
    let identity = published.identity.clone().expect("an identity");
    identity.revision
}

/// What the house's own caution says to the usual player, and the revision that decided.
async fn said(service: &Service) -> (Vec<String>, String) {
    let request = pb::RecommendRequest {
        ruleset: "house".to_owned(),
        ..player()
    };
    let answer = service
        .fitting()
        .recommend(request)
        .await
        .expect("an answer");
    let bag = answer.into_inner().recommendation.expect("a bag");
    let cautions = bag.cautions.into_iter();
    let own = cautions.filter(|caution| caution.name == "from_the_house");
    let identity = bag.ruleset.expect("an identity");
    (own.map(|caution| caution.text).collect(), identity.revision)
}

#[tokio::test]
async fn a_published_revision_decides_once_it_is_activated_and_not_before() {
    let service = Service::of_previews().await;
    let first = revision(&publish(&service, house("The first word.")).await);
    let request = pb::RecommendRequest {
        ruleset: "house".to_owned(),
        ..player()
    };
    let early = service.fitting().recommend(request).await;
    assert_eq!(early.expect_err("not in force").code(), Code::NotFound);

    let mut rulesets = client(&service);
    let answer = rulesets.activate_ruleset(activation(&first, "")).await;
    assert_eq!(answer.expect("in force").into_inner().previous_revision, "");
    let expected = (vec!["The first word.".to_owned()], first.clone());
    assert_eq!(said(&service).await, expected);

    let second = revision(&publish(&service, house("The second word.")).await);
    assert_ne!(first, second);
    assert_eq!(said(&service).await, expected);
    let answer = rulesets.activate_ruleset(activation(&second, &first)).await;
    assert_eq!(
        answer.expect("in force").into_inner().previous_revision,
        first
    );
    let expected = (vec!["The second word.".to_owned()], second.clone());
    assert_eq!(said(&service).await, expected);

    // And back: a revision stays published.
    let answer = rulesets.activate_ruleset(activation(&first, &second)).await;
    assert!(answer.is_ok());
    drop(rulesets);
    service.stop().await;
}

#[tokio::test]
async fn the_same_source_is_the_same_revision() {
    let service = Service::of_previews().await;
    let first = publish(&service, house("A word.")).await;
    let again = publish(&service, house("A word.")).await;
    assert!(!first.was_known);
    assert!(again.was_known);
    assert_eq!(revision(&first), revision(&again));
    service.stop().await;
}

#[tokio::test]
async fn what_is_only_validated_is_not_kept() {
    let service = Service::of_previews().await;
    let request = pb::PublishRulesetRequest {
        source: Some(house("A word.")),
        validate_only: true,
    };
    let mut rulesets = client(&service);
    let answer = rulesets.publish_ruleset(request).await.expect("an answer");
    let revision = revision(answer.get_ref());
    let refused = rulesets.activate_ruleset(activation(&revision, "")).await;
    let refused = refused.expect_err("not kept");
    assert_eq!(refused.code(), Code::NotFound);
    assert_eq!(reason(&refused), "REVISION_UNKNOWN");
    drop(rulesets);
    service.stop().await;
}

#[tokio::test]
async fn an_activation_names_what_it_replaces() {
    let service = Service::of_previews().await;
    let mut rulesets = client(&service);
    let first = revision(&publish(&service, house("The first word.")).await);
    let second = revision(&publish(&service, house("The second word.")).await);
    let activated = rulesets.activate_ruleset(activation(&first, "")).await;
    assert!(activated.is_ok());
    // The caller has not seen the first one.
    let refused = rulesets.activate_ruleset(activation(&second, "")).await;
    let refused = refused.expect_err("another is in force");
    assert_eq!(refused.code(), Code::Aborted);
    assert_eq!(reason(&refused), "OTHER_REVISION_IN_FORCE");
    assert!(refused.message().contains(&first), "{}", refused.message());

    // Of two at once that expect the same, one is refused.
    let mut other = client(&service);
    let (one, other) = tokio::join!(
        rulesets.activate_ruleset(activation(&second, &first)),
        other.activate_ruleset(activation(&second, &first)),
    );
    assert!(one.is_ok() != other.is_ok());
    drop(rulesets);
    service.stop().await;
}

#[tokio::test]
async fn an_activation_gives_its_reason() {
    let service = Service::of_previews().await;
    let published = revision(&publish(&service, house("A word.")).await);
    let long = "x".repeat(501);
    for reason in ["", "  ", "two\nlines", long.as_str()] {
        let request = pb::ActivateRulesetRequest {
            reason: reason.to_owned(),
            ..activation(&published, "")
        };
        let refused = client(&service).activate_ruleset(request).await;
        let refused = refused.expect_err("no reason");
        assert_eq!(refused.code(), Code::InvalidArgument, "{reason:?}");
        assert_eq!(violations(&refused)[0].0, "reason");
    }
    service.stop().await;
}

/// Two faults in two places: a name that is nowhere, and a gap.
const FAULTY: &str = "ruleset house
  title \"A house\"
  language 1
  builds on common

caution of_nothing : player_hnad is right
  says \"A word.\"

decide of_a_gap : flag
  by driver_head_speed
    under 90 mph gives yes
    over 90 mph  gives no
";

#[tokio::test]
async fn rules_with_errors_are_refused_with_every_finding_and_nothing_is_kept() {
    let service = Service::of_previews().await;
    let faulty = || source("house", "house.rules", FAULTY);
    let status = refused(&service, faulty()).await;
    assert_eq!(status.code(), Code::InvalidArgument);
    assert_eq!(reason(&status), "RULES_REFUSED");
    let faults = violations(&status);
    let at = |field: &str, code: &str| {
        let found = |(place, text): &(String, String)| place == field && text.starts_with(code);
        assert!(faults.iter().any(found), "{field} {code}: {faults:?}");
    };
    at("house/house.rules:6:22", "L0301");
    at("house/house.rules:10:3", "L0402");

    let request = pb::CheckRulesetRequest {
        source: Some(faulty()),
    };
    let check = client(&service).check_ruleset(request).await;
    let check = check.expect("findings are an answer").into_inner();
    assert_eq!(check.identity, None);
    assert_eq!(check.cases, None);
    let gap = check
        .findings
        .iter()
        .find(|finding| finding.code == "L0402");
    let gap = gap.expect("the gap");
    assert_eq!(gap.severity(), pb::Severity::Error);
    let place = gap.place.clone().expect("a place");
    assert_eq!((place.layer.as_str(), place.line), ("house", 10));
    // The one head speed that neither row has.
    let witness: Vec<_> = gap
        .witness
        .iter()
        .map(|one| (&*one.name, &*one.text))
        .collect();
    assert_eq!(witness, [("driver_head_speed", "90 mph")]);
    service.stop().await;
}

#[tokio::test]
async fn a_case_that_fails_keeps_rules_from_being_published() {
    let service = Service::of_previews().await;
    let mut rules = house("A word.");
    rules.layers[0].files[0].text.push_str(
        "\ncase \"the caution is not there\"\n  given player_hand = right\n  \
         expect no caution from_the_house\n",
    );
    let status = refused(&service, rules).await;
    assert_eq!(reason(&status), "RULES_REFUSED");
    let faults = violations(&status);
    assert!(faults.iter().all(|(_, text)| text.starts_with("L0601")));
    assert_eq!(faults.len(), 1);
    service.stop().await;
}

#[tokio::test]
async fn every_fault_of_the_form_comes_at_once() {
    let service = Service::of_previews().await;
    let file = |name: &str| pb::RulesFile {
        name: name.to_owned(),
        text: String::new(),
    };
    let layer = |name: &str, files: Vec<pb::RulesFile>| pb::RulesLayer {
        name: name.to_owned(),
        files,
    };
    let sent = pb::RulesetSource {
        layers: vec![
            layer("contract", vec![file("a.rules")]),
            layer("The House", vec![]),
            layer(
                "house",
                vec![
                    file("../a.rules"),
                    file("b.rules"),
                    file("b.rules"),
                    file("c.txt"),
                ],
            ),
        ],
    };
    let faults = violations(&refused(&service, sent).await);
    let fields: Vec<&str> = faults.iter().map(|(field, _)| field.as_str()).collect();
    assert_eq!(
        fields,
        [
            "source.layers[0].name",
            "source.layers[1].name",
            "source.layers[1].files",
            "source.layers[2].files[0].name",
            "source.layers[2].files[2].name",
            "source.layers[2].files[3].name",
        ]
    );
    let nothing = refused(&service, pb::RulesetSource { layers: vec![] }).await;
    assert_eq!(violations(&nothing)[0].0, "source.layers");
    service.stop().await;
}

#[tokio::test]
async fn a_layer_that_is_missing_or_not_needed_is_named() {
    let service = Service::of_previews().await;
    let text = "ruleset house\n  title \"A house\"\n  language 1\n  builds on comon\n";
    let status = refused(&service, source("house", "house.rules", text)).await;
    assert!(violations(&status)[0].1.contains("did you mean `common`?"));

    let mut rules = house("A word.");
    let other = source("other", "other.rules", "");
    rules.layers.splice(0..0, other.layers);
    let status = refused(&service, rules).await;
    assert_eq!(violations(&status)[0].0, "source.layers.other");
    service.stop().await;
}

#[tokio::test]
async fn a_folder_over_the_size_limit_is_refused_by_name() {
    let service = Service::of_previews().await;
    let long = "# nothing\n".repeat(1_300_000);
    let mut rulesets = client(&service).max_encoding_message_size(64 * 1024 * 1024);
    let request = pb::CheckRulesetRequest {
        source: Some(source("house", "house.rules", &long)),
    };
    let status = rulesets
        .check_ruleset(request)
        .await
        .expect_err("too large");
    assert_eq!(status.code(), Code::ResourceExhausted);
    assert_eq!(reason(&status), "REQUEST_TOO_LARGE");
    // 12 MiB.
    assert!(
        status.message().contains("12582912"),
        "{}",
        status.message()
    );
    drop(rulesets);
    service.stop().await;
}
