//! Catalogue and stock: published, changed, listed, refused, and there again after a restart.

use std::path::Path;

use loftwright_proto::v1 as pb;
use loftwright_proto::v1::count_change::Change;
use loftwright_proto::v1::update_stock_request::Update;
use loftwright_server::files::built_in;
use loftwright_server::load;
use loftwright_server::rpc::recording::{Recording, StockFrom};
use loftwright_server::store::RecorderSettings;
use sha2::{Digest, Sha256};
use sqlx::query::Query;
use sqlx::sqlite::{SqliteArguments, SqliteConnectOptions};
use sqlx::{ConnectOptions, Connection, Sqlite};
use tonic::Code;

use crate::running::{Running, reason, violations};

/// The files of a side of a built-in parts folder.
pub(crate) fn files(stock: &str, side: &str) -> pb::PartsFiles {
    let files = built_in::parts_files(stock).expect("built-in parts");
    let of_side = files
        .into_iter()
        .filter(|file| file.folder_and_name().0 == side);
    pb::PartsFiles {
        files: of_side
            .map(|file| pb::PartsFile {
                name: file.folder_and_name().1.to_owned(),
                text: file.text.clone(),
            })
            .collect(),
    }
}

pub(crate) fn changes(expected: &str, changes: pb::StockChanges) -> pb::UpdateStockRequest {
    pb::UpdateStockRequest {
        update: Some(Update::Changes(changes)),
        expected_digest: expected.to_owned(),
        reason: "the week's count".to_owned(),
        validate_only: false,
        pieces_came_back: false,
    }
}

pub(crate) fn piece(part: &str, id: &str, loft: &str) -> pb::AddedPiece {
    pb::AddedPiece {
        kind: "head".to_owned(),
        part: part.to_owned(),
        id: id.to_owned(),
        fields: [("measured_loft".to_owned(), loft.to_owned())].into(),
    }
}

fn gone(id: &str) -> pb::RemovedPiece {
    pb::RemovedPiece {
        kind: "head".to_owned(),
        id: id.to_owned(),
    }
}

fn counted(part: &str, change: Change) -> pb::CountChange {
    pb::CountChange {
        kind: "grip".to_owned(),
        part: part.to_owned(),
        change: Some(change),
    }
}

fn count_of(stock: &pb::ListStockResponse) -> i64 {
    stock.items.iter().map(|item| item.count).sum()
}

#[tokio::test]
async fn pieces_and_counts_change_at_once_and_stay_changed() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let before = shop.snapshot().await;
    assert!(shop.has("head", "H-DR-01-090-R", "N0001").await);
    // 18 of G-U-RN and 28 of G-U-NN are in the demo's stock.
    let all = pb::StockChanges {
        add_pieces: vec![piece("H-DR-01-090-R", "N9001", "9.3 deg")],
        remove_pieces: vec![gone("N0001")],
        counts: vec![
            counted("G-U-RN", Change::Set(40)),
            counted("G-U-NN", Change::ChangeBy(-3)),
        ],
    };
    let answer = shop.parts().update_stock(changes(&before, all)).await;
    let answer = answer.expect("an answer").into_inner();
    let record = shop.record(&answer.record.expect("a record").id).await;
    assert_eq!((record.kind.as_str(), record.erased), ("stock", false));
    let after = answer.snapshot.expect("a snapshot");
    assert!(after.digest != before && after.stock_as_of.is_some());
    let shop = shop.restart(folder.path()).await;
    assert_eq!(shop.snapshot().await, after.digest);
    assert!(!shop.has("head", "H-DR-01-090-R", "N0001").await);
    let listed = shop.stock("head", "H-DR-01-090-R").await;
    let new = listed
        .items
        .iter()
        .find(|item| item.piece_id.as_deref() == Some("N9001"));
    let fields = &new.expect("the new piece").measured;
    let loft = fields.iter().find(|field| field.name == "measured_loft");
    let loft = loft.and_then(|field| field.value.as_ref()).expect("a loft");
    assert_eq!(loft.exact, "9.3");
    assert_eq!(count_of(&shop.stock("grip", "G-U-RN").await), 40);
    assert_eq!(count_of(&shop.stock("grip", "G-U-NN").await), 25);
    shop.stop().await;
}

#[tokio::test]
async fn every_fault_of_a_change_is_named_and_nothing_is_changed() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let before = shop.snapshot().await;
    let wrong = pb::StockChanges {
        add_pieces: vec![
            piece("H-DR-01-090-X", "N9001", "9 deg"),
            piece("H-DR-01-090-R", "N0002", "9 deg"),
        ],
        remove_pieces: vec![gone("N00O1")],
        counts: vec![
            counted("G-U-NN", Change::ChangeBy(-29)),
            counted("G-U-RN", Change::Set(-1)),
        ],
    };
    let refused = shop.parts().update_stock(changes(&before, wrong)).await;
    let refused = refused.expect_err("five faults");
    assert_eq!(refused.code(), Code::InvalidArgument);
    let found = violations(&refused);
    let fields: Vec<&str> = found.iter().map(|(field, _)| field.as_str()).collect();
    let expected = [
        "changes.remove_pieces[0]",
        "changes.add_pieces[0]",
        "changes.add_pieces[1]",
        "changes.counts[0]",
        "changes.counts[1]",
    ];
    assert_eq!(fields, expected);
    assert!(
        found
            .iter()
            .any(|(_, said)| said.contains("did you mean `N0001`?")),
        "{found:?}"
    );
    assert!(
        found
            .iter()
            .any(|(_, said)| said.starts_with("28 of `G-U-NN` are on hand"))
    );
    // What the rules cannot read is said of the piece that was sent.
    let unread = pb::StockChanges {
        add_pieces: vec![
            piece("H-DR-01-090-R", "N9002", "9 deg"),
            piece("H-DR-01-090-R", "N9001", "9 inches"),
        ],
        ..pb::StockChanges::default()
    };
    let refused = shop.parts().update_stock(changes(&before, unread)).await;
    let found = violations(&refused.expect_err("no angle"));
    let (field, _) = found.first().expect("a fault");
    assert_eq!(field, "changes.add_pieces[1].fields.measured_loft");
    let mut unknown = piece("H-DR-01-090-R", "N9001", "9 deg");
    unknown.fields.insert("colour".to_owned(), "red".to_owned());
    let unknown = pb::StockChanges {
        add_pieces: vec![unknown],
        ..pb::StockChanges::default()
    };
    let refused = shop.parts().update_stock(changes(&before, unknown)).await;
    let found = violations(&refused.expect_err("an unknown field"));
    assert_eq!(
        found.first().expect("a fault").0,
        "changes.add_pieces[0].fields.colour"
    );
    assert_eq!(shop.snapshot().await, before);
    shop.stop().await;
}

#[tokio::test]
async fn a_change_of_another_snapshot_is_refused_and_a_trial_changes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let before = shop.snapshot().await;
    let one = || pb::StockChanges {
        remove_pieces: vec![gone("N0001")],
        ..pb::StockChanges::default()
    };
    let trial = pb::UpdateStockRequest {
        validate_only: true,
        ..changes(&before, one())
    };
    let tried = shop
        .parts()
        .update_stock(trial)
        .await
        .expect("an answer")
        .into_inner();
    assert!(tried.record.is_none());
    assert_eq!(shop.snapshot().await, before);
    let done = shop.parts().update_stock(changes(&before, one())).await;
    let done = done.expect("an answer").into_inner();
    assert_eq!(done.snapshot, shop.stock("grip", "").await.snapshot);
    let digest = |snapshot: Option<pb::PartsSnapshot>| snapshot.expect("a snapshot").digest;
    assert_eq!(digest(tried.snapshot), digest(done.snapshot));
    let late = shop.parts().update_stock(changes(&before, one())).await;
    let late = late.expect_err("another snapshot");
    assert_eq!(late.code(), Code::Aborted);
    assert_eq!(reason(&late), "OTHER_SNAPSHOT_IN_FORCE");
    shop.stop().await;
}

#[tokio::test]
async fn a_catalogue_is_published_with_its_stock_and_its_findings_have_codes_and_places() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let before = shop.snapshot().await;
    let publish = |catalogue, stock, expected: &str| pb::PublishCatalogueRequest {
        catalogue: Some(catalogue),
        stock,
        stock_name: "thin".to_owned(),
        expected_digest: expected.to_owned(),
        reason: "our own parts".to_owned(),
        validate_only: false,
        pieces_came_back: false,
    };
    // Without its stock: the pieces of the demo are none of its parts.
    let alone = publish(files("thin", "catalogue"), None, &before);
    let refused = shop.parts().publish_catalogue(alone.clone()).await;
    let refused = refused.expect_err("findings");
    assert_eq!(reason(&refused), "PARTS_REFUSED");
    let found = violations(&refused);
    let (place, said) = found.first().expect("a finding");
    assert!(
        place.starts_with("stock/") && said.starts_with('P'),
        "{place}: {said}"
    );
    let trial = pb::PublishCatalogueRequest {
        validate_only: true,
        ..alone
    };
    let trial = shop.parts().publish_catalogue(trial).await;
    let trial = trial.expect("findings are the answer").into_inner();
    assert!(trial.snapshot.is_none() && trial.findings.len() >= found.len());
    assert_eq!(shop.snapshot().await, before);

    let whole = publish(
        files("thin", "catalogue"),
        Some(files("thin", "stock")),
        &before,
    );
    let published = shop.parts().publish_catalogue(whole).await;
    let published = published.expect("an answer").into_inner();
    let snapshot = published.snapshot.expect("a snapshot");
    assert_eq!(snapshot.name, "thin");
    let kinds: Vec<&str> = published
        .kinds
        .iter()
        .map(|kind| kind.kind.as_str())
        .collect();
    assert_eq!(kinds, ["grip", "head", "shaft"]);
    let shop = shop.restart(folder.path()).await;
    assert_eq!(shop.stock("grip", "").await.snapshot, Some(snapshot));
    shop.stop().await;
}

#[tokio::test]
async fn the_stock_is_listed_page_by_page_and_a_page_of_another_stock_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let whole = shop.stock("head", "").await;
    let pieces = whole
        .kinds
        .iter()
        .find(|kind| kind.kind == "head")
        .expect("heads")
        .pieces;
    assert_eq!(u32::try_from(whole.items.len()), Ok(pieces));
    let request = |token: &str| pb::ListStockRequest {
        kind: "head".to_owned(),
        part: String::new(),
        page_size: 100,
        page_token: token.to_owned(),
    };
    let mut paged = Vec::new();
    let mut token = String::new();
    loop {
        let page = shop.parts().list_stock(request(&token)).await;
        let page = page.expect("a page").into_inner();
        paged.extend(page.items);
        if page.next_page_token.is_empty() {
            break;
        }
        token = page.next_page_token;
    }
    assert_eq!(paged, whole.items);
    let before = shop.snapshot().await;
    let one = pb::StockChanges {
        remove_pieces: vec![gone("N0001")],
        ..pb::StockChanges::default()
    };
    shop.parts()
        .update_stock(changes(&before, one))
        .await
        .expect("an answer");
    let refused = shop.parts().list_stock(request(&token)).await;
    let refused = refused.expect_err("a token of another stock");
    assert_eq!(
        violations(&refused).first().expect("a fault").0,
        "page_token"
    );
    let mut parts = shop.parts();
    let unknown = parts.list_stock(pb::ListStockRequest {
        kind: "heads".to_owned(),
        ..request("")
    });
    let said = unknown.await.expect_err("no kind").message().to_owned();
    assert!(said.contains("did you mean `head`?"), "{said}");
    shop.stop().await;
}

#[tokio::test]
async fn a_reason_and_the_snapshot_must_be_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let nothing = pb::UpdateStockRequest::default();
    let refused = shop
        .parts()
        .update_stock(nothing)
        .await
        .expect_err("faults");
    let found = violations(&refused);
    let fields: Vec<&str> = found.iter().map(|(field, _)| field.as_str()).collect();
    assert_eq!(fields, ["reason", "expected_digest", "update"]);
    let odd = pb::PublishCatalogueRequest {
        catalogue: Some(pb::PartsFiles {
            files: vec![pb::PartsFile {
                name: "../heads.csv".to_owned(),
                text: String::new(),
            }],
        }),
        reason: "r".to_owned(),
        expected_digest: "d".to_owned(),
        ..pb::PublishCatalogueRequest::default()
    };
    let refused = shop
        .parts()
        .publish_catalogue(odd)
        .await
        .expect_err("a fault");
    assert_eq!(
        violations(&refused).first().expect("a fault").0,
        "catalogue.files[0].name"
    );
    shop.stop().await;
}

/// A parts folder with the files of a built-in one.
fn folder_of(stock: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for file in built_in::parts_files(stock).expect("built-in parts") {
        let path = folder.path().join(&file.path);
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(path, &file.text).expect("written");
    }
    folder
}

#[tokio::test]
async fn the_stock_of_the_log_is_gone_on_from_unless_that_of_the_start_is_chosen() {
    let data = tempfile::tempdir().expect("a folder");
    let thin = folder_of("thin");
    let shop = Running::start(data.path()).await;
    let demo = shop.snapshot().await;
    shop.stop().await;
    let shop = Running::start_with(data.path(), Some(thin.path()), StockFrom::Log).await;
    assert_eq!(shop.snapshot().await, demo);
    shop.stop().await;
    let shop = Running::start_with(data.path(), Some(thin.path()), StockFrom::Start).await;
    let chosen = shop.snapshot().await;
    assert_ne!(chosen, demo);
    let shop = shop.restart(data.path()).await;
    assert_eq!(shop.snapshot().await, chosen, "it was recorded");
    shop.stop().await;
}

#[tokio::test]
async fn a_file_of_the_stock_that_is_gone_or_another_is_named_at_the_start() {
    let data = tempfile::tempdir().expect("a folder");
    Running::start(data.path()).await.stop().await;
    let of = |path: &str| {
        let files = built_in::parts_files("demo").expect("the demo");
        let file = files
            .into_iter()
            .find(|file| file.path == path)
            .expect("the file");
        let digest: [u8; 32] = Sha256::digest(file.text.as_bytes()).into();
        digest.to_vec()
    };
    let (shafts, grips) = (of("stock/shafts.csv"), of("stock/grips.csv"));
    let swap = "UPDATE blobs SET content = (SELECT content FROM blobs WHERE digest = ?) \
                WHERE digest = ?";
    let said = refused_after(data.path(), sqlx::query(swap).bind(shafts).bind(&grips)).await;
    assert!(said.contains("is not what was kept"), "{said}");
    let gone = sqlx::query("DELETE FROM blobs WHERE digest = ?").bind(&grips);
    let said = refused_after(data.path(), gone).await;
    assert!(
        said.contains("`stock/grips.csv` is a file of the stock"),
        "{said}"
    );
}

/// What the start says once one row of the database was changed behind its back.
async fn refused_after(data: &Path, change: Query<'_, Sqlite, SqliteArguments>) -> String {
    let options = SqliteConnectOptions::new().filename(data.join("record.sqlite"));
    let mut database = options.connect().await.expect("the database");
    let changed = change.execute(&mut database).await.expect("changed");
    assert_eq!(changed.rows_affected(), 1);
    database.close().await.expect("closed");
    let registry = load::registry(&[], None, None).expect("the built-in rulesets");
    let opened = Recording::open(data, RecorderSettings::default()).await;
    let (recording, writing) = opened.expect("a record");
    let refused = recording.taken_up_by(&registry, StockFrom::Log).await;
    let said = refused.expect_err("a stock that is not whole").to_string();
    drop((recording, registry));
    writing.await.expect("no panic");
    said
}
