//! The service over a real connection on loopback: what it answers, what it refuses and how.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

mod faults;
mod limits;
mod rulesets;
mod standard_services;

use loftwright_proto::v1 as pb;
use loftwright_server::ticket::{TicketForm, draw};
use loftwright_testing::{Service, preview};

/// A preview of the demo's steady player, with how sure each decision is.
fn player() -> pb::RecommendRequest {
    pb::RecommendRequest {
        view: pb::RecommendationView::Full.into(),
        ..preview("steady-right-hander", "skerry", "test")
    }
}

#[tokio::test]
async fn a_player_gets_a_bag_and_is_told_that_it_is_a_preview() {
    let service = Service::of_previews().await;
    let answer = service
        .fitting()
        .recommend(player())
        .await
        .expect("an answer");
    let bag = answer
        .into_inner()
        .recommendation
        .expect("a recommendation");
    assert!(bag.preview);
    // Rules of Golf, Rule 4.1b(1): at most fourteen.
    assert!(!bag.clubs.is_empty() && bag.clubs.len() <= 14);
    assert!(!bag.decisions.is_empty());
    let identity = bag.ruleset.expect("the ruleset's identity");
    assert_eq!(identity.name, "skerry");
    // SHA-256 is 64 hexadecimal digits.
    assert_eq!(identity.meaning_digest.len(), 64);
    assert_eq!(bag.parts.expect("the parts' identity").digest.len(), 64);
    service.stop().await;
}

#[tokio::test]
async fn the_ticket_comes_where_it_is_wanted_and_can_be_drawn() {
    let service = Service::of_previews().await;
    let ask = async |ticket| {
        let request = pb::RecommendRequest { ticket, ..player() };
        let answer = service
            .fitting()
            .recommend(request)
            .await
            .expect("an answer");
        let recommendation = answer.into_inner().recommendation;
        recommendation.expect("a recommendation")
    };
    let without = ask(false).await;
    assert_eq!(draw(&without, TicketForm::Text), None);
    let with = ask(true).await;
    let ticket = with.ticket.as_ref().expect("a ticket");
    assert_eq!(ticket.subject, player().subject);
    let text = draw(&with, TicketForm::Text).expect("a text");
    let identity = with.ruleset.as_ref().expect("the ruleset's identity");
    for digest in [&identity.meaning_digest, &identity.text_digest] {
        let short = digest.get(..16).expect("a digest");
        assert!(text.contains(short), "{digest}");
    }
    service.stop().await;
}

#[tokio::test]
async fn each_view_leaves_out_what_it_says_and_nothing_else() {
    let service = Service::of_previews().await;
    let mut answers = Vec::new();
    for view in [
        pb::RecommendationView::Full,
        pb::RecommendationView::Reasons,
        pb::RecommendationView::Unspecified,
        pb::RecommendationView::Basic,
    ] {
        let request = pb::RecommendRequest {
            view: view.into(),
            ..player()
        };
        let answer = service
            .fitting()
            .recommend(request)
            .await
            .expect("an answer");
        answers.push(
            answer
                .into_inner()
                .recommendation
                .expect("a recommendation"),
        );
    }
    let [mut full, mut reasons, unspecified, basic] = <[_; 4]>::try_from(answers).expect("four");
    let is_sure = |report: &pb::DecisionReport| report.sureness.is_some();
    assert!(full.decisions.iter().any(is_sure) && full.next_reading.is_some());
    for report in &mut full.decisions {
        report.sureness = None;
    }
    full.next_reading = None;
    assert!(
        full == reasons,
        "reasons are the full view without how sure"
    );
    assert!(
        reasons == unspecified,
        "a view that is not named is reasons"
    );
    reasons.decisions.clear();
    assert!(basic == reasons, "basic is reasons without the decisions");
    service.stop().await;
}

#[tokio::test]
async fn a_missing_reading_is_an_answer() {
    let service = Service::of_previews().await;
    let mut request = player();
    request.readings.remove("wedge_attack_angle");
    let answer = service
        .fitting()
        .recommend(request)
        .await
        .expect("an answer");
    let bag = answer
        .into_inner()
        .recommendation
        .expect("a recommendation");
    let missing: Vec<&str> = bag
        .missing_readings
        .iter()
        .map(|reading| reading.input.as_str())
        .collect();
    assert_eq!(missing, ["wedge_attack_angle"]);
    let bounce = bag
        .decisions
        .iter()
        .find(|decision| decision.name == "wedge_bounce")
        .expect("the decision is there");
    assert_eq!(bounce.ending(), pb::Ending::Needs);
    assert_eq!(bounce.needs, ["wedge_attack_angle"]);
    let driver = bag.clubs.first().expect("the rest of the bag is there");
    assert!(driver.head.is_some());
    service.stop().await;
}

#[tokio::test]
async fn a_ruleset_tells_what_it_asks_and_who_needs_it() {
    let service = Service::of_previews().await;
    let request = pb::DescribeRulesetRequest {
        ruleset: "common".to_owned(),
    };
    let answer = service.fitting().describe_ruleset(request).await;
    let ruleset = answer.expect("an answer").into_inner().ruleset;
    let ruleset = ruleset.expect("a ruleset");
    let angle = ruleset
        .inputs
        .iter()
        .find(|input| input.name == "wedge_attack_angle")
        .expect("the input is there");
    assert_eq!(angle.r#type(), pb::InputType::Quantity);
    assert_eq!(angle.measure, "angle");
    assert_eq!(angle.unit, "deg");
    assert!(angle.question.is_some() && angle.lowest.is_some() && angle.highest.is_some());
    // By way of `steepness`, and of the bounce.
    assert!(angle.needed_by.contains(&"wedge_bounce".to_owned()));
    assert!(angle.needed_by.contains(&"wedge_head".to_owned()));
    assert!(!angle.needed_by.contains(&"driver_target_loft".to_owned()));
    let sore = ruleset
        .inputs
        .iter()
        .find(|input| input.name == "sore_hands");
    assert!(sore.expect("the input is there").is_private);
    assert!(ruleset.inputs.iter().all(|input| input.name != "today"));
    let schema: serde_json::Value =
        serde_json::from_str(&ruleset.readings_json_schema).expect("JSON");
    let names: Vec<&String> = schema["properties"]
        .as_object()
        .expect("an object")
        .keys()
        .collect();
    let described: Vec<&String> = ruleset.inputs.iter().map(|input| &input.name).collect();
    assert_eq!(names, described);
    service.stop().await;
}
