//! A subject is erased while a replay runs: it goes on, and of what waits to go out nothing is of
//! the subject any more.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use futures::StreamExt;
use loftwright_proto::v1 as pb;
use loftwright_proto::v1::audit_service_server::AuditService;
use loftwright_proto::v1::ruleset_service_server::RulesetService;
use loftwright_server::load;
use loftwright_server::registry::Principals;
use loftwright_server::rpc::audit::Audit;
use loftwright_server::rpc::recording::{Recording, StockFrom};
use loftwright_server::rpc::ruleset::Rulesets;
use loftwright_server::store::RecorderSettings;
use pb::replay_records_response::Piece;
use tonic::Request;

use crate::replays::{by_speed, of_house, swinging};
use crate::support::Running;

const GONE: &str = "planted-pseudonym-3141";

/// Recommendations that a candidate changes, of one subject and another in turn: the candidate, and
/// the ids of the one's.
async fn recorded_in_turn(folder: &Path) -> (String, BTreeSet<String>) {
    let service = Running::start(folder).await;
    let old = service.publish("", by_speed("90 mph")).await;
    service.activate("", &old, "").await.expect("activated");
    let mut of_one = BTreeSet::new();
    for number in 1..=8 {
        let mut request = swinging(number, "92 mph");
        if number % 2 == 0 {
            GONE.clone_into(&mut request.subject);
            of_one.insert(service.keep(request).await);
        } else {
            service.keep(request).await;
        }
    }
    let candidate = service.publish("", by_speed("95 mph")).await;
    service.stop().await;
    (candidate, of_one)
}

async fn erase(audit: &Audit) {
    let mut request = Request::new(pb::EraseSubjectRequest {
        subject: GONE.to_owned(),
        reason: "asked for".to_owned(),
    });
    let nobody = Principals::default().who(None).expect("anybody may");
    request.extensions_mut().insert(nobody);
    audit.erase_subject(request).await.expect("erased");
}

#[tokio::test]
async fn what_was_read_before_an_erasure_and_not_sent_is_not_sent_and_counts_as_erased() {
    let folder = tempfile::tempdir().expect("a folder");
    let (candidate, of_one) = recorded_in_turn(folder.path()).await;
    let registry = Arc::new(load::registry(&[], None, None).expect("rules and parts"));
    let opened = Recording::open(folder.path(), RecorderSettings::default()).await;
    let (recording, writing) = opened.expect("a record");
    let taken_up = recording.taken_up_by(&registry, StockFrom::Log).await;
    taken_up.expect("a log that can be gone on from");
    let recording = Some(Arc::new(recording));
    let audit = Audit::new(Arc::clone(&registry), recording.clone());
    let rulesets = Rulesets::new(registry, recording);

    let replay = rulesets.replay_records(Request::new(of_house(&candidate)));
    let mut pieces = replay.await.expect("a stream").into_inner();
    let (mut is_erased, mut sent, mut summary) = (false, 0, None);
    while let Some(piece) = pieces.next().await {
        match piece.expect("it goes on").piece.expect("a piece") {
            Piece::Record(one) => {
                let id = one.record.expect("a record").id;
                let expected = match is_erased && of_one.contains(&id) {
                    true => (
                        pb::ReplayOutcome::NotComparable,
                        pb::NotComparable::Erased,
                        0,
                    ),
                    false => (
                        pb::ReplayOutcome::Changed,
                        pb::NotComparable::Unspecified,
                        1,
                    ),
                };
                let outcome = pb::ReplayOutcome::try_from(one.outcome).expect("an outcome");
                let why = pb::NotComparable::try_from(one.not_comparable).expect("a reason");
                assert_eq!((outcome, why, one.changed.len()), expected, "record {id}");
                sent += 1;
                if sent == 2 {
                    // All eight are read, and one of the subject's four is out.
                    erase(&audit).await;
                    is_erased = true;
                }
            }
            Piece::Progress(_) => {}
            Piece::Summary(end) => summary = Some(end),
        }
    }
    let summary = summary.expect("a summary");
    assert_eq!((sent, summary.same, summary.changed), (8, 0, 5));
    let erased = summary.reasons.iter().map(|one| (one.reason(), one.count));
    assert_eq!(erased.collect::<Vec<_>>(), [(pb::NotComparable::Erased, 3)]);
    drop((pieces, audit, rulesets));
    writing.await.expect("no panic");
}
