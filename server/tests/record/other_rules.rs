//! Records of rules that this release does not take any more: of another version of the contract,
//! or refused by the check. They are read and explained from what they hold; whatever needs the
//! rules is refused by name, and says what helps.

use std::path::Path;

use loftwright_engine::CONTRACT_VERSION;
use loftwright_proto::v1 as pb;
use loftwright_server::audit::act::{Activated, Published};
use loftwright_server::audit::leaf::{Leaf, LeafHeader, LeafKind};
use loftwright_server::audit::merkle::{Hash, leaf_hash};
use loftwright_server::store::{Entry, EntryFacts, KeptBody, SaltedBody, Store};
use loftwright_server::wiped::WipedBytes;
use loftwright_testing::{Service, preview, reason, recorded};
use pb::explain_record_request::Question;
use pb::replay_records_response::Piece;
use tokio::io::{AsyncReadExt, AsyncWriteExt};

use crate::support::{Log, entry};

/// A house that says one thing.
fn house(says: &str) -> pb::PublishRulesetRequest {
    let text = format!(
        "ruleset house\n  title \"A house\"\n  language 1\n  builds on common\n\n\
         caution from_the_house : player_hand is right\n  says \"{says}\"\n"
    );
    loftwright_testing::to_publish(loftwright_testing::house(text))
}

fn player(number: u32) -> pb::RecommendRequest {
    let mut request = preview("steady-right-hander", "house", "player-7");
    // Only skerry asks that.
    request.readings.remove("bunker_sand");
    recorded(number, request)
}

async fn publish(service: &Service, says: &str) -> String {
    let published = service.rulesets().publish_ruleset(house(says)).await;
    let identity = published.expect("published").into_inner().identity;
    identity.expect("an identity").revision
}

async fn activate(service: &Service, revision: &str, expected: &str) -> Result<(), tonic::Status> {
    let request = pb::ActivateRulesetRequest {
        ruleset: "house".to_owned(),
        revision: revision.to_owned(),
        expected_revision: expected.to_owned(),
        reason: "the spring meeting".to_owned(),
        validate_only: false,
    };
    let activated = service.rulesets().activate_ruleset(request).await;
    activated.map(drop)
}

/// A log in which one revision of the house decided one recommendation; the revision and the
/// record's id.
async fn with_a_record(folder: &Path, says: &str) -> (String, String) {
    let service = Service::start(folder).await;
    let revision = publish(&service, says).await;
    activate(&service, &revision, "").await.expect("activated");
    let id = service.keep(player(1)).await;
    service.stop().await;
    (revision, id)
}

/// What another log holds of a revision.
struct Elsewhere {
    source: Vec<u8>,
    parts: Vec<u8>,
    header: LeafHeader,
    body: WipedBytes,
}

async fn elsewhere() -> Elsewhere {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, id) = with_a_record(folder.path(), "Mind the wind.").await;
    let (position, _) = id.split_once('-').expect("an id");
    let position = position.parse().expect("a position");
    let store = Log::open(folder.path()).await.expect("a log").store;
    let leaf = store.leaf(position).await.expect("read").expect("a leaf");
    let header = Leaf::parse(&leaf).expect("a leaf").header;
    let KeptBody::Whole { body, .. } = store.body(position).await.expect("read") else {
        panic!("no body");
    };
    let blob = async |digest: Option<Hash>| {
        let blob = store.blob(digest.expect("a digest")).await;
        blob.expect("read").expect("kept")
    };
    Elsewhere {
        source: blob(header.rules_digest).await,
        parts: blob(header.parts_digest).await,
        header,
        body,
    }
}

/// Adds a revision of this source to a log as another release would have: published, with one
/// recommendation. Its digest, and the record's id.
async fn of_another_release(
    folder: &Path,
    of: &Elsewhere,
    source: &[u8],
    contract_version: u32,
    is_in_force: bool,
) -> (String, String) {
    let mut log = Log::open(folder).await.expect("a log");
    let revision = log.store.keep_blob(source).await.expect("kept");
    log.store.keep_blob(&of.parts).await.expect("kept");
    let header = LeafHeader {
        rules_digest: Some(revision),
        contract_version: Some(contract_version),
        request_id_hash: None,
        subject_commitment: None,
        ..of.header.clone()
    };
    let like = Entry {
        facts: EntryFacts {
            ruleset: Some("house".to_owned()),
            ..EntryFacts::default()
        },
        ..entry("player-7", "")
    };
    let published = Published {
        ruleset: "house".to_owned(),
        title: "A house".to_owned(),
        warnings: None,
        cases: None,
    };
    let activated = Activated {
        ruleset: "house".to_owned(),
        previous: None,
        reason: "the autumn meeting".to_owned(),
    };
    let acts = [
        (LeafKind::Published, published.to_bytes()),
        (LeafKind::Activated, activated.to_bytes()),
    ];
    for (kind, body) in acts.into_iter().take(1 + usize::from(is_in_force)) {
        let header = LeafHeader {
            kind,
            semantics_version: None,
            parts_digest: None,
            ..header.clone()
        };
        let body = SaltedBody::new(body.expect("an act")).expect("a salt");
        let subject = None;
        log.keep(Entry {
            header,
            subject,
            body,
            ..like.clone()
        })
        .await;
    }
    let body = SaltedBody::new(of.body.to_vec()).expect("a salt");
    let position = log
        .keep(Entry {
            header,
            body,
            ..like
        })
        .await;
    log.notary.sign().await.expect("signed");
    let leaf = log.store.leaf(position).await.expect("read");
    let hash = leaf_hash(&leaf.expect("a leaf")).to_string();
    let id = format!("{position}-{}", hash.get(..16).expect("a hash"));
    (revision.to_string(), id)
}

/// The same source, which no check takes.
fn refused_by_the_check(source: &[u8]) -> Vec<u8> {
    let text = std::str::from_utf8(source).expect("a text");
    // As long, and every text that the record refers to stays in its order.
    let other = text.replace("from_the_house : player", "from_the_house ; player");
    assert_ne!(other, text);
    other.into_bytes()
}

async fn explained(service: &Service, id: &str, question: Option<Question>) -> pb::Explanation {
    let id = id.to_owned();
    let request = pb::ExplainRecordRequest { id, question };
    let answer = service.audit().explain_record(request).await;
    let explanation = answer.expect("an answer").into_inner().explanation;
    explanation.expect("an explanation")
}

async fn summary_of_replay(
    service: &Service,
    revision: &str,
) -> Result<pb::ReplaySummary, tonic::Status> {
    let request = pb::ReplayRecordsRequest {
        ruleset: "house".to_owned(),
        revision: revision.to_owned(),
        ..pb::ReplayRecordsRequest::default()
    };
    let mut stream = service
        .rulesets()
        .replay_records(request)
        .await?
        .into_inner();
    let mut summary = None;
    while let Some(piece) = stream.message().await? {
        if let Some(Piece::Summary(end)) = piece.piece {
            summary = Some(end);
        }
    }
    Ok(summary.expect("a summary"))
}

async fn page_of(service: &Service, revision: &str) -> String {
    let address = service.pages();
    let mut stream = tokio::net::TcpStream::connect(address)
        .await
        .expect("a connection");
    let path = format!("/rulesets/house/revisions/{revision}");
    let request = format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).await.expect("sent");
    let mut page = String::new();
    stream.read_to_string(&mut page).await.expect("a page");
    page
}

/// Asks for what the record itself holds, and needs no rules; where these are, `why` is said.
async fn ask_of_record(service: &Service, (revision, id): &(String, String), why: &str) {
    let record = service.record(id).await.expect("a record");
    let cautions = record.recommendation.expect("a recommendation").cautions;
    let is_there = cautions.iter().any(|one| one.text == "Mind the wind.");
    assert!(is_there, "{cautions:?}");
    let explanation = explained(service, id, None).await;
    let said = explanation.rules_not_kept();
    assert!(said.contains(why), "{said}");
    let decision = explanation
        .decisions
        .first()
        .expect("decisions")
        .report
        .clone();
    let decision = decision.expect("a report");
    let of_it = Question::Why(pb::WhyQuestion {
        decision: decision.name,
        club: decision.club.unwrap_or_default(),
    });
    let explanation = explained(service, id, Some(of_it)).await;
    let said = explanation.rules_not_kept();
    assert!(said.contains(why), "{said}");
    let mut audit = service.audit();
    let of_revision = pb::ListRecordsRequest {
        revision: revision.clone(),
        ..pb::ListRecordsRequest::default()
    };
    let listed = audit.list_records(of_revision).await.expect("a list");
    let mut listed = listed.into_inner().records.into_iter();
    assert!(listed.any(|line| line.record.is_some_and(|one| one.id == *id)));
    let request = pb::VerifyRecordRequest { id: id.clone() };
    let verified = audit.verify_record(request).await.expect("an answer");
    let verified = verified.into_inner();
    assert_eq!(verified.verification(), pb::Verification::NeedsRules);
    assert!(verified.why.contains(why), "{}", verified.why);
}

/// Asks for all that there is to ask of its revision.
async fn ask_of_revision(service: &Service, revision: &str, good: &str, why: &str) {
    let refused = |status: tonic::Status| {
        assert_eq!(reason(&status), "REVISION_UNREADABLE");
        assert!(status.message().contains(revision), "{}", status.message());
        assert!(status.message().contains(why), "{}", status.message());
    };
    let replayed = summary_of_replay(service, revision).await;
    refused(replayed.expect_err("a refusal"));
    let activated = activate(service, revision, good).await;
    refused(activated.expect_err("a refusal"));
    let (mut rulesets, ruleset) = (service.rulesets(), "house".to_owned());
    let request = pb::CompareRevisionsRequest {
        ruleset: ruleset.clone(),
        old_revision: revision.to_owned(),
        new_revision: good.to_owned(),
    };
    let compared = rulesets.compare_revisions(request).await;
    refused(compared.expect_err("a refusal"));
    let request = pb::RowStatisticsRequest {
        ruleset: ruleset.clone(),
        revision: revision.to_owned(),
    };
    let counted = rulesets.row_statistics(request).await.expect("counts");
    let said = counted.into_inner().rules_unread;
    assert!(said.contains(why), "{said}");
    let page = page_of(service, revision).await;
    assert!(page.starts_with("HTTP/1.1 410"), "{page}");
    assert!(page.contains(why), "{page}");

    // Its exact source can be had, and the list says what is wrong with it.
    let request = pb::GetRevisionRequest {
        ruleset,
        revision: revision.to_owned(),
    };
    let kept = rulesets.get_revision(request).await.expect("a revision");
    let kept = kept.into_inner();
    assert!(kept.source.is_some());
    let fault = kept.revision.expect("a revision").fault;
    assert!(fault.contains(why), "{fault}");
}

#[tokio::test]
async fn records_of_rules_that_this_release_does_not_take_are_told_and_the_rest_is_refused_by_name()
{
    let folder = tempfile::tempdir().expect("a folder");
    let (good, _) = with_a_record(folder.path(), "A word.").await;
    let of = elsewhere().await;
    let older = CONTRACT_VERSION - 1;
    let of_older = of_another_release(folder.path(), &of, &of.source, older, false).await;
    let source = refused_by_the_check(&of.source);
    let of_refused = of_another_release(folder.path(), &of, &source, CONTRACT_VERSION, false).await;

    let service = Service::start(folder.path()).await;
    let contract = format!(
        "it was written for version {older} of the engine's contract, and this release has \
         version {CONTRACT_VERSION}; use the release that published it"
    );
    let check = "this release does not accept";
    for (of, why) in [(&of_older, contract.as_str()), (&of_refused, check)] {
        ask_of_record(&service, of, why).await;
        ask_of_revision(&service, &of.0, &good, why).await;
    }
    // A candidate of today is held against all three: none is left out.
    let summary = summary_of_replay(&service, &good).await.expect("a replay");
    assert_eq!(
        (summary.same, summary.changed, summary.not_comparable),
        (3, 0, 0)
    );
    service.stop().await;
}

#[tokio::test]
async fn rules_of_another_contract_that_are_in_force_are_not_served_and_nothing_stands_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let (good, _) = with_a_record(folder.path(), "A word.").await;
    let of = elsewhere().await;
    let newer = CONTRACT_VERSION + 1;
    let (revision, _) = of_another_release(folder.path(), &of, &of.source, newer, true).await;
    let service = Service::start(folder.path()).await;
    let refused = service.recommend(player(2)).await.expect_err("a refusal");
    assert_eq!(reason(&refused), "REVISION_UNREADABLE");
    let said = format!("it was written for version {newer} of the engine's contract");
    assert!(refused.message().contains(&said), "{}", refused.message());
    activate(&service, &good, &revision)
        .await
        .expect("rolled back");
    service.recommend(player(3)).await.expect("served again");
    service.stop().await;
}
