//! Builds confirmed: what is taken is gone, what differs has its reason, and a record is confirmed
//! once.

use loftwright_proto::v1 as pb;
use tonic::Code;

use crate::running::{Recommended, Running, part, player, reason, uuid, violations};

pub(crate) fn confirm(
    record: &str,
    number: u32,
    clubs: Vec<pb::BuiltClub>,
) -> pb::ConfirmBuildRequest {
    pb::ConfirmBuildRequest {
        record_id: record.to_owned(),
        request_id: uuid(number),
        clubs,
        supersedes: String::new(),
        validate_only: false,
    }
}

fn club(name: &str, fields: &[(&str, &str, &str)]) -> pb::BuiltClub {
    let field = |(name, value, reason): &(&str, &str, &str)| pb::BuiltField {
        name: (*name).to_owned(),
        value: (*value).to_owned(),
        reason: (*reason).to_owned(),
    };
    pb::BuiltClub {
        name: name.to_owned(),
        fields: fields.iter().map(field).collect(),
        not_built: String::new(),
    }
}

/// The piece of the driver's head: its part and code.
pub(crate) fn driver_head(of: &Recommended) -> (String, String) {
    let head = part(of.club("driver").head.as_ref());
    (head.part_id, head.piece_id.expect("a piece"))
}

async fn grips(shop: &mut Running, part: &str) -> i64 {
    let stock = shop.stock("grip", part).await;
    stock.items.iter().map(|item| item.count).sum()
}

#[tokio::test]
async fn a_build_takes_its_pieces_and_they_stay_gone() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut shop = Running::start(folder.path()).await;
    let first = shop.recommend(player(1, "one")).await;
    let rival = shop.recommend(player(2, "two")).await;
    let (head, piece) = driver_head(&first);
    assert_eq!(
        driver_head(&rival),
        (head.clone(), piece.clone()),
        "nothing is set aside"
    );
    let grip = part(first.club("driver").grip.as_ref()).part_id;
    let gripped = first
        .bag
        .clubs
        .iter()
        .filter(|club| !club.is_kept && part(club.grip.as_ref()).part_id == grip);
    let gripped = i64::try_from(gripped.count()).expect("few");
    let before = grips(&mut shop, &grip).await;

    let done = shop
        .confirm(confirm(&first.id, 11, Vec::new()))
        .await
        .expect("an answer");
    let build = done.build.clone().expect("a build");
    assert!(build.overrides.is_empty());
    assert_eq!(build.record_id, first.id);
    assert!(!shop.has("head", &head, &piece).await);
    assert_eq!(grips(&mut shop, &grip).await, before - gripped);
    let again = shop
        .confirm(confirm(&first.id, 11, Vec::new()))
        .await
        .expect("an answer");
    assert_eq!(
        (&again.record, &again.build),
        (&done.record, &done.build),
        "a retry"
    );
    assert_eq!(
        grips(&mut shop, &grip).await,
        before - gripped,
        "and nothing more is taken"
    );

    let shop = shop.restart(folder.path()).await;
    assert!(!shop.has("head", &head, &piece).await);
    shop.stop().await;
}

#[tokio::test]
async fn a_piece_that_is_gone_is_named_and_the_records_know_of_each_other() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let first = shop.recommend(player(1, "one")).await;
    let rival = shop.recommend(player(2, "two")).await;
    let (head, piece) = driver_head(&first);
    let done = shop
        .confirm(confirm(&first.id, 11, Vec::new()))
        .await
        .expect("an answer");
    let build = done.build.clone().expect("a build");
    let refused = shop.confirm(confirm(&rival.id, 12, Vec::new())).await;
    let refused = refused.expect_err("the piece is gone");
    assert_eq!(
        (refused.code(), reason(&refused)),
        (Code::FailedPrecondition, "PIECES_GONE".to_owned())
    );
    let said = violations(&refused);
    let named = format!("the head `{piece}` of `{head}`, for the driver, is not on hand any more");
    assert!(
        said.iter().any(|(_, said)| said.starts_with(&named)),
        "{said:?}"
    );
    let third = shop.recommend(player(3, "two")).await;
    assert_ne!(
        driver_head(&third).1,
        piece,
        "a new recommendation takes what is left"
    );
    // Both ways: from the recommendation to the build and its stock, and back.
    let record = shop.record(&first.id).await;
    let kinds: Vec<&str> = record
        .later
        .iter()
        .map(|later| later.kind.as_str())
        .collect();
    assert_eq!(kinds, ["build confirmed", "stock"]);
    let confirmation = shop.record(&done.record.expect("a record").id).await;
    assert_eq!(confirmation.about, first.id);
    // The snapshot that a record was made from is kept, whatever is on hand by now.
    let request = pb::VerifyRecordRequest { id: first.id };
    let verified = shop
        .audit()
        .verify_record(request)
        .await
        .expect("an answer");
    let verified = verified.into_inner();
    assert_eq!(verified.differences, Vec::<String>::new());
    assert_eq!(verified.verification(), pb::Verification::Identical);
    assert_eq!(confirmation.build, Some(build));
    shop.stop().await;
}

#[tokio::test]
async fn a_difference_needs_its_reason_and_only_a_difference_has_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let made = shop.recommend(player(1, "one")).await;
    let wrong = vec![
        club(
            "7 iron",
            &[
                ("length", "36 in", ""),
                ("lie", "63.5 deg", "he stands tall"),
                ("shaft", "S-IR-110-R-M", ""),
                ("bend", "half a degree", "r"),
                ("lenght", "36 in", "r"),
            ],
        ),
        club("4 hybrid", &[]),
        club("7 irom", &[]),
    ];
    let refused = shop
        .confirm(confirm(&made.id, 11, wrong))
        .await
        .expect_err("faults");
    let found = violations(&refused);
    let at = |field: &str| {
        let found = found.iter().find(|(path, _)| path == field);
        found.map(|(_, said)| said.clone()).unwrap_or_default()
    };
    let length = at("clubs[0].fields[0].reason");
    assert!(
        length.contains("`37 in` was recommended; say why"),
        "{found:?}"
    );
    assert!(
        at("clubs[0].fields[1].reason").contains("overrides nothing"),
        "{found:?}"
    );
    assert!(
        at("clubs[0].fields[2].reason").contains("say why"),
        "{found:?}"
    );
    assert!(
        at("clubs[0].fields[3].value").contains("a value such as"),
        "{found:?}"
    );
    assert!(
        at("clubs[0].fields[4].name").contains("did you mean `length`?"),
        "{found:?}"
    );
    assert!(
        at("clubs[1].name").contains("the player keeps"),
        "{found:?}"
    );
    assert!(
        at("clubs[2].name").contains("did you mean `7 iron`?"),
        "{found:?}"
    );
    assert_eq!(found.len(), 7, "{found:?}");
    shop.stop().await;
}

#[tokio::test]
async fn what_is_within_the_tolerance_of_the_rules_is_no_difference() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let made = shop.recommend(player(1, "one")).await;
    // 37 in is 939.8 mm; the demo's rules allow a sixteenth of an inch, which is 1.5875 mm.
    let fine = |length: &str| {
        let fields = [("length", length, ""), ("lie", "63.5 deg", "")];
        let request = confirm(&made.id, 11, vec![club("7 iron", &fields)]);
        pb::ConfirmBuildRequest {
            validate_only: true,
            ..request
        }
    };
    for length in ["37 in", "939.8 mm", "37 1/16 in", "938.3 mm"] {
        let tried = shop.confirm(fine(length)).await.expect("an answer");
        assert!(tried.record.is_none() && tried.build.expect("a build").overrides.is_empty());
    }
    assert!(shop.confirm(fine("37 1/8 in")).await.is_err());
    shop.stop().await;
}

#[tokio::test]
async fn an_override_says_what_was_decided_otherwise_and_by_which_row() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let made = shop.recommend(player(1, "one")).await;
    let (head, piece) = driver_head(&made);
    let listed = shop.stock("head", &head).await;
    let other = listed.items.iter().filter_map(|item| item.piece_id.clone());
    let other = other
        .into_iter()
        .find(|other| *other != piece)
        .expect("another piece");
    let clubs = vec![
        club("7 iron", &[("length", "36 in", "he chokes down")]),
        club(
            "driver",
            &[("head_piece", &other, "the first was scratched")],
        ),
        pb::BuiltClub {
            name: "putter".to_owned(),
            fields: Vec::new(),
            not_built: "he keeps his own after all".to_owned(),
        },
    ];
    let done = shop
        .confirm(confirm(&made.id, 11, clubs))
        .await
        .expect("an answer");
    let build = done.build.expect("a build");
    let said: Vec<_> = build
        .overrides
        .iter()
        .map(|one| {
            (
                one.club.as_str(),
                one.field.as_str(),
                one.decision.as_str(),
                one.reason.as_str(),
            )
        })
        .collect();
    assert_eq!(
        said,
        [
            (
                "driver",
                "head_piece",
                "driver_head",
                "the first was scratched"
            ),
            ("7 iron", "length", "club_length", "he chokes down"),
            ("putter", "", "", "he keeps his own after all"),
        ]
    );
    let length = build.overrides.get(1).expect("the length");
    assert_eq!(
        (length.recommended.as_str(), length.built.as_str()),
        ("37 in", "36 in")
    );
    let putter = build.clubs.iter().find(|club| club.name == "putter");
    assert!(putter.expect("the putter").fields.is_empty());
    assert!(shop.has("head", &head, &piece).await, "it was not taken");
    assert!(!shop.has("head", &head, &other).await);
    let putter = part(made.club("putter").head.as_ref());
    let putter_piece = putter.piece_id.expect("a piece");
    assert!(
        shop.has("head", &putter.part_id, &putter_piece).await,
        "it was not built"
    );
    shop.stop().await;
}

#[tokio::test]
async fn a_record_is_confirmed_once_unless_the_earlier_confirmation_is_replaced() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let made = shop.recommend(player(1, "one")).await;
    let (head, piece) = driver_head(&made);
    let first = shop
        .confirm(confirm(&made.id, 11, Vec::new()))
        .await
        .expect("an answer");
    let first = first.record.expect("a record").id;
    let taken = shop.snapshot().await;
    let refused = shop
        .confirm(confirm(&made.id, 12, Vec::new()))
        .await
        .expect_err("twice");
    assert_eq!(reason(&refused), "BUILT_ALREADY");
    assert!(refused.message().contains(&first), "{}", refused.message());
    let reused = confirm(
        &made.id,
        11,
        vec![club("7 iron", &[("length", "36 in", "r")])],
    );
    let refused = shop.confirm(reused).await.expect_err("another request");
    assert_eq!(reason(&refused), "REQUEST_ID_REUSED");
    let other = pb::ConfirmBuildRequest {
        supersedes: made.id.clone(),
        ..confirm(&made.id, 12, Vec::new())
    };
    let refused = shop.confirm(other).await.expect_err("not the confirmation");
    assert_eq!(
        violations(&refused).first().expect("a fault").0,
        "supersedes"
    );

    let not_built = pb::BuiltClub {
        name: "driver".to_owned(),
        fields: Vec::new(),
        not_built: "he took the old one".to_owned(),
    };
    let second = pb::ConfirmBuildRequest {
        supersedes: first.clone(),
        ..confirm(&made.id, 12, vec![not_built])
    };
    let second = shop.confirm(second).await.expect("an answer");
    assert!(
        shop.has("head", &head, &piece).await,
        "the driver's head is back"
    );
    let third = pb::ConfirmBuildRequest {
        supersedes: second.record.expect("a record").id,
        ..confirm(&made.id, 13, Vec::new())
    };
    let third = shop.confirm(third).await.expect("an answer");
    assert!(!shop.has("head", &head, &piece).await);
    assert_eq!(
        shop.snapshot().await,
        taken,
        "the same is taken as at first"
    );
    assert!(
        third
            .build
            .expect("a build")
            .stock
            .iter()
            .all(|one| one.change_by < 0)
    );
    shop.stop().await;
}

#[tokio::test]
async fn a_recommendation_replaces_one_of_the_same_subject_only() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let first = shop.recommend(player(1, "one")).await;
    let of_another = pb::RecommendRequest {
        supersedes: first.id.clone(),
        ..player(2, "two")
    };
    let refused = shop
        .fitting()
        .recommend(of_another)
        .await
        .expect_err("another subject");
    assert_eq!(
        violations(&refused).first().expect("a fault").0,
        "supersedes"
    );
    let second = pb::RecommendRequest {
        supersedes: first.id.clone(),
        ..player(2, "one")
    };
    let second = shop.recommend(second).await;
    assert_eq!(shop.record(&second.id).await.about, first.id);
    let record = shop.record(&first.id).await;
    let later: Vec<_> = record
        .later
        .iter()
        .map(|later| later.kind.as_str())
        .collect();
    assert_eq!(later, ["recommendation"]);
    let erase = pb::EraseSubjectRequest {
        subject: "one".to_owned(),
        reason: "asked for".to_owned(),
    };
    shop.audit().erase_subject(erase).await.expect("an answer");
    let refused = shop.confirm(confirm(&first.id, 11, Vec::new())).await;
    assert_eq!(reason(&refused.expect_err("erased")), "RECORD_ERASED");
    shop.stop().await;
}

/// Of builds that want the same piece at the same time one has it, and the others are told.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_piece_goes_into_one_of_many_builds() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let mut made = Vec::new();
    for number in 1..=6 {
        made.push(
            shop.recommend(player(number, &format!("player {number}")))
                .await,
        );
    }
    let before = shop.snapshot().await;
    let confirming = made.iter().zip(11..).map(|(made, number)| {
        let (mut fitting, id) = (shop.fitting().clone(), made.id.clone());
        async move {
            fitting
                .confirm_build(confirm(&id, number, Vec::new()))
                .await
        }
    });
    let answers = futures::future::join_all(confirming).await;
    let (done, refused): (Vec<_>, Vec<_>) = answers.into_iter().partition(Result::is_ok);
    assert_eq!(done.len(), 1);
    for refused in refused {
        let refused = refused.expect_err("a refusal");
        assert_eq!(reason(&refused), "PIECES_GONE");
    }
    assert_ne!(shop.snapshot().await, before);
    let records = made.iter().map(|made| made.id.clone());
    let mut confirmed = 0;
    for id in records {
        let record = shop.record(&id).await;
        confirmed += record
            .later
            .iter()
            .filter(|one| one.kind == "build confirmed")
            .count();
    }
    assert_eq!(confirmed, 1);
    shop.stop().await;
}
