//! The service with a data directory: recorded, found again, proved, compared, erased.

use std::path::Path;

use loftwright_proto::v1 as pb;
use loftwright_server::audit::leaf::Leaf;
use loftwright_server::audit::merkle::{Hash, leaf_hash, verify_consistency, verify_inclusion};
use loftwright_server::audit::note::{KeyRing, open_checkpoint};
use loftwright_server::files::built_in;
use loftwright_server::store::Store;
use loftwright_testing::{Begin, Service, reason, recorded};
use sha2::{Digest, Sha256};
use tonic::Code;
use tonic_types::StatusExt;

use crate::support::{Log, behind_its_back};

/// A request that is to be recorded; `number` makes its id.
fn player(number: u32) -> pb::RecommendRequest {
    let player = loftwright_testing::preview("steady-right-hander", "skerry", "planted-pseudonym");
    pb::RecommendRequest {
        ticket: true,
        ..recorded(number, player)
    }
}

/// How many records the first start leaves: what the program brings along is published and put in
/// force, and its stock is recorded.
fn of_the_start() -> u64 {
    1 + 2 * u64::try_from(built_in::ruleset_names().len()).expect("a few")
}

async fn verification(service: &Service, id: &str) -> pb::VerifyRecordResponse {
    let request = pb::VerifyRecordRequest { id: id.to_owned() };
    let answer = service.audit().verify_record(request).await;
    answer.expect("an answer").into_inner()
}

fn id_of(answer: &pb::RecommendResponse) -> String {
    answer.record.as_ref().expect("a record").id.clone()
}

#[tokio::test]
async fn what_was_answered_is_found_again_by_id_and_by_retry_also_after_a_restart() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let first = service.recommend(player(1)).await.expect("an answer");
    let given = first.recommendation.clone().expect("a recommendation");
    assert!(!given.preview && !given.decisions.is_empty() && given.ticket.is_some());
    let again = service.recommend(player(1)).await.expect("an answer");
    assert!(again == first, "a retry has the same answer and record");
    let second = service.recommend(player(2)).await.expect("an answer");
    assert_eq!(
        second.record.as_ref().map(|record| record.position),
        Some(of_the_start() + 1)
    );

    let record = service.record(&id_of(&first)).await.expect("a record");
    assert!(record.recommendation.as_ref() == Some(&given));
    let sent = record.request.as_ref().expect("a request");
    assert_eq!(sent.readings, player(1).readings);
    assert_eq!(
        (record.kind.as_str(), record.erased),
        ("recommendation", false)
    );
    service.stop().await;

    let service = Service::start(folder.path()).await;
    let again = service.recommend(player(1)).await.expect("an answer");
    assert!(again == first, "a restart changes nothing");
    assert!(service.record(&id_of(&first)).await.expect("a record") == record);
    let verified = verification(&service, &id_of(&second)).await;
    assert_eq!(verified.differences, Vec::<String>::new());
    assert_eq!(verified.verification(), pb::Verification::Identical);
    let request = pb::GetInclusionProofRequest {
        id: id_of(&first),
        size: 0,
    };
    let proof = service.audit().get_inclusion_proof(request).await;
    let leaf = Leaf::parse(&proof.expect("a proof").into_inner().leaf).expect("a leaf");
    service.stop().await;
    // What its digests are of is kept beside it.
    let log = Log::open(folder.path()).await.expect("a log");
    for digest in [leaf.header.rules_digest, leaf.header.parts_digest] {
        let digest = digest.expect("a digest");
        let kept = log.store.blob(digest).await.expect("read").expect("kept");
        assert_eq!(Hash(Sha256::digest(&kept).into()), digest);
    }
}

#[tokio::test]
async fn a_record_is_compared_by_its_own_rules_where_others_are_loaded() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let answer = service.recommend(player(1)).await.expect("an answer");
    service.stop().await;
    let common = Path::new(env!("CARGO_MANIFEST_DIR")).join("../rulesets/common");
    let begin = Begin {
        data: Some(folder.path()),
        rules: &[common],
        ..Begin::default()
    };
    let service = Service::start_as(begin).await;
    let verified = verification(&service, &id_of(&answer)).await;
    assert_eq!(verified.differences, Vec::<String>::new());
    assert_eq!(verified.verification(), pb::Verification::Identical);
    service.stop().await;
}

#[tokio::test]
async fn another_request_under_the_same_id_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    service.recommend(player(1)).await.expect("an answer");
    let mut other = player(1);
    other.readings.remove("wedge_attack_angle");
    let refused = service.recommend(other).await.expect_err("another request");
    assert_eq!(refused.code(), Code::AlreadyExists);
    assert_eq!(reason(&refused), "REQUEST_ID_REUSED");
    let basic = pb::RecommendRequest {
        view: pb::RecommendationView::Basic.into(),
        ..player(2)
    };
    let answer = service.recommend(basic).await.expect("an answer");
    let shown = answer.recommendation.as_ref().expect("a recommendation");
    assert!(shown.decisions.is_empty());
    let kept = service.record(&id_of(&answer)).await.expect("a record");
    let kept = kept.recommendation.expect("a recommendation");
    assert!(!kept.decisions.is_empty(), "the record has every decision");
    service.stop().await;
}

#[tokio::test]
async fn a_record_needs_subject_and_request_id_and_a_preview_leaves_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let bare = pb::RecommendRequest {
        subject: String::new(),
        request_id: String::new(),
        ..player(1)
    };
    let refused = service.recommend(bare).await.expect_err("a refusal");
    let violations = refused.get_details_bad_request().expect("violations");
    let fields: Vec<_> = violations
        .field_violations
        .iter()
        .map(|violation| violation.field.as_str())
        .collect();
    assert_eq!(fields, ["subject", "request_id"]);
    let preview = pb::RecommendRequest {
        preview: true,
        ..player(1)
    };
    let answer = service.recommend(preview).await.expect("an answer");
    assert_eq!(answer.record, None);
    let id = "0-0123456789abcdef";
    let unknown = service.record(id).await.expect_err("nothing is recorded");
    assert_eq!(reason(&unknown), "RECORD_UNKNOWN");
    service.stop().await;
}

#[tokio::test]
async fn proofs_hold_against_the_signed_checkpoint() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let first = service.recommend(player(1)).await.expect("an answer");
    let older = service
        .audit()
        .get_checkpoint(pb::GetCheckpointRequest {})
        .await;
    let older = older.expect("a checkpoint").into_inner();
    let ring = KeyRing::of(older.verifier_key.parse().expect("a key"));
    let (older, _) = open_checkpoint(older.note.as_bytes(), &ring).expect("signed");
    for number in 2..6 {
        service.recommend(player(number)).await.expect("an answer");
    }
    let request = pb::GetInclusionProofRequest {
        id: id_of(&first),
        size: 0,
    };
    let proof = service.audit().get_inclusion_proof(request).await;
    let proof = proof.expect("a proof").into_inner();
    let (newer, _) = open_checkpoint(proof.note.as_bytes(), &ring).expect("signed");
    let (first_at, size) = (of_the_start(), of_the_start() + 5);
    assert_eq!((newer.size, proof.size), (size, size));
    let hashes = |bytes: &[Vec<u8>]| -> Vec<Hash> {
        let hash = |bytes: &Vec<u8>| Hash::of_slice(bytes).expect("32 bytes");
        bytes.iter().map(hash).collect()
    };
    let leaf = leaf_hash(&proof.leaf);
    let held = verify_inclusion(&leaf, first_at, size, &hashes(&proof.hashes), &newer.root);
    assert_eq!(held, Ok(()));
    let header = Leaf::parse(&proof.leaf).expect("a leaf").header;
    let identity = first.recommendation.and_then(|given| given.ruleset);
    let meaning = header.meaning_digest.expect("a digest").to_string();
    assert_eq!(
        Some(meaning),
        identity.map(|identity| identity.meaning_digest)
    );

    let request = pb::GetConsistencyProofRequest {
        older_size: older.size,
        newer_size: 0,
    };
    let proof = service.audit().get_consistency_proof(request).await;
    let proof = proof.expect("a proof").into_inner();
    let proof = hashes(&proof.hashes);
    let held = verify_consistency(older.size, size, &proof, &older.root, &newer.root);
    assert_eq!(held, Ok(()));
    let request = pb::GetConsistencyProofRequest {
        older_size: size + 1,
        newer_size: size,
    };
    let refused = service.audit().get_consistency_proof(request).await;
    assert_eq!(
        refused.expect_err("a refusal").code(),
        Code::InvalidArgument
    );
    service.stop().await;
}

#[tokio::test]
async fn a_record_of_another_log_and_a_damaged_one_are_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let answer = service.recommend(player(1)).await.expect("an answer");
    let elsewhere = service.record("0-0123456789abcdef").await;
    let elsewhere = elsewhere.expect_err("another log's");
    assert_eq!(elsewhere.code(), Code::NotFound);
    assert!(
        elsewhere.message().contains("another id"),
        "{}",
        elsewhere.message()
    );
    let change = "UPDATE records SET bodies = zeroblob(length(bodies))";
    behind_its_back(folder.path(), change).await;
    let damaged = service.record(&id_of(&answer)).await.expect_err("damaged");
    assert_eq!(damaged.code(), Code::DataLoss);
    assert_eq!(reason(&damaged), "RECORD_DAMAGED");
    service.stop().await;
}

#[tokio::test]
async fn an_erased_subject_is_unreadable_and_the_log_stands() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let answer = service.recommend(player(1)).await.expect("an answer");
    let erase = pb::EraseSubjectRequest {
        subject: "planted-pseudonym".to_owned(),
        reason: "asked for".to_owned(),
    };
    let erased = service.audit().erase_subject(erase.clone()).await;
    let erased = erased.expect("erased").into_inner().record;
    let erased = erased.expect("its own record");
    assert_eq!(erased.position, of_the_start() + 1);
    let act = service.record(&erased.id).await.expect("a record");
    assert_eq!((act.kind.as_str(), act.erased), ("erasure", false));
    let record = service.record(&id_of(&answer)).await.expect("a record");
    assert!(record.erased && record.request.is_none() && record.recommendation.is_none());
    let verified = verification(&service, &id_of(&answer)).await;
    assert_eq!(verified.verification(), pb::Verification::Erased);
    let retry = service.recommend(player(1)).await.expect_err("erased");
    assert_eq!(reason(&retry), "RECORD_ERASED");
    let twice = service.audit().erase_subject(erase).await;
    assert_eq!(twice.expect_err("a refusal").code(), Code::NotFound);
    let request = pb::GetInclusionProofRequest {
        id: id_of(&answer),
        size: of_the_start() + 2,
    };
    let proof = service.audit().get_inclusion_proof(request).await;
    proof.expect("a proof");
    service.stop().await;
}
