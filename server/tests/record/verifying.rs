//! A record that is evaluated again and does not come out as it was: where it differs, or what it
//! would take to evaluate it.

use std::path::Path;

use loftwright_proto::v1 as pb;
use loftwright_server::audit::leaf::{Leaf, LeafHeader};
use loftwright_server::audit::merkle::leaf_hash;
use loftwright_server::store::{Entry, KeptBody, SaltedBody, Store};
use loftwright_testing::{Service, preview, recorded, uuid};
use pb::Verification;

use crate::support::{Log, entry};

const SUBJECT: &str = "player-7";

fn player(number: u32) -> pb::RecommendRequest {
    recorded(number, preview("steady-right-hander", "skerry", SUBJECT))
}

fn position(id: &str) -> u64 {
    let (position, _) = id.split_once('-').expect("an id");
    position.parse().expect("a position")
}

/// Records with headers of the service's own making and bodies that do not belong to them, or that
/// name what is not here: the ids of those.
async fn forged(folder: &Path, first: &str, second: &str) -> [String; 4] {
    let mut log = Log::open(folder).await.expect("a log");
    let leaf = log.store.leaf(position(second)).await.expect("read");
    let header = Leaf::parse(&leaf.expect("a leaf")).expect("a leaf").header;
    let kept = log.store.body(position(first)).await.expect("read");
    let KeptBody::Whole { body, .. } = kept else {
        panic!("{kept:?}");
    };
    let semantics_version = header.semantics_version.map(|version| version + 1);
    let nowhere = Some(leaf_hash(b"nowhere"));
    let headers = [
        // The first answer, as if it had been given from the stock of the second.
        header.clone(),
        LeafHeader {
            semantics_version,
            ..header.clone()
        },
        LeafHeader {
            rules_digest: nowhere,
            ..header.clone()
        },
        LeafHeader {
            parts_digest: nowhere,
            ..header
        },
    ];
    let mut ids = [const { String::new() }; 4];
    for (header, id) in headers.into_iter().zip(&mut ids) {
        let forged = Entry {
            header: LeafHeader {
                request_id_hash: None,
                subject_commitment: None,
                ..header
            },
            body: SaltedBody::new(body.to_vec()).expect("a salt"),
            ..entry(SUBJECT, "")
        };
        let position = log.keep(forged).await;
        let leaf = log.store.leaf(position).await.expect("read");
        let hash = leaf_hash(&leaf.expect("a leaf")).to_string();
        *id = format!("{position}-{}", hash.get(..16).expect("a hash"));
    }
    log.notary.sign().await.expect("signed");
    ids
}

#[tokio::test]
async fn what_does_not_come_out_again_says_where_or_what_it_would_take() {
    let folder = tempfile::tempdir().expect("a folder");
    let service = Service::start(folder.path()).await;
    let first = service.keep(player(1)).await;
    let build = pb::ConfirmBuildRequest {
        record_id: first.clone(),
        request_id: uuid(11),
        ..pb::ConfirmBuildRequest::default()
    };
    service.fitting().confirm_build(build).await.expect("built");
    // Its pieces are gone, and others are chosen.
    let second = service.keep(player(2)).await;
    service.stop().await;
    let [differs, semantics, rules, parts] = forged(folder.path(), &first, &second).await;

    let service = Service::start(folder.path()).await;
    let mut verified = Vec::new();
    let mut audit = service.audit();
    for id in [first, second, differs, semantics, rules, parts] {
        let answer = audit.verify_record(pb::VerifyRecordRequest { id }).await;
        verified.push(answer.expect("an answer").into_inner());
    }
    let said: Vec<_> = verified.iter().map(|one| one.verification()).collect();
    let expected = [
        Verification::Identical,
        Verification::Identical,
        Verification::Differs,
        Verification::NeedsSemantics,
        Verification::NeedsRules,
        Verification::NeedsParts,
    ];
    assert_eq!(said, expected);
    for (one, is_other) in verified
        .iter()
        .zip([false, false, true, false, false, false])
    {
        assert_eq!(
            !one.differences.is_empty(),
            is_other,
            "{:?}",
            one.differences
        );
    }
    let of_heads = |path: &&String| path.starts_with("clubs[0].head");
    let differences = &verified[2].differences;
    assert!(
        differences.iter().any(|path| of_heads(&path)),
        "{differences:?}"
    );
    assert_eq!(
        verified[3].semantics_version,
        verified[2].semantics_version + 1
    );
    service.stop().await;
}
