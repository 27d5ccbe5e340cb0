//! A stock that is published brings nothing back that was built in, unless somebody says so.

use std::collections::BTreeSet;

use loftwright_proto::v1 as pb;
use pb::update_stock_request::Update;
use tonic::{Code, Status};

use crate::building::{confirm, driver_head};
use crate::parts::{changes, files, piece};
use crate::running::{Recommended, Running, part, player, reason, violations};

/// The demo's stock, published as a whole.
async fn publish(shop: &Running, stock: pb::PartsFiles, came_back: bool) -> Result<(), Status> {
    let request = pb::PublishCatalogueRequest {
        catalogue: Some(files("demo", "catalogue")),
        stock: Some(stock),
        expected_digest: shop.snapshot().await,
        reason: "counted".to_owned(),
        pieces_came_back: came_back,
        ..pb::PublishCatalogueRequest::default()
    };
    shop.parts().publish_catalogue(request).await.map(drop)
}

/// What is said of each single piece that the recommendation took.
fn taken(of: &Recommended) -> BTreeSet<String> {
    let clubs = of.bag.clubs.iter().filter(|club| !club.is_kept);
    let parts = clubs.flat_map(|club| [("head", &club.head), ("shaft", &club.shaft)]);
    parts
        .filter_map(|(kind, settled)| {
            let part = part(settled.as_ref());
            let (id, code, record) = (part.piece_id?, part.part_id, &of.id);
            Some(format!(
                "the {kind} `{id}` of `{code}` was taken for the build of `{record}`"
            ))
        })
        .collect()
}

fn named(refused: &Status) -> BTreeSet<String> {
    assert_eq!(reason(refused), "PIECES_TAKEN");
    assert_eq!(refused.code(), Code::FailedPrecondition);
    let said = violations(refused).into_iter();
    said.map(|(field, sentence)| {
        assert_eq!(field, "stock");
        sentence
    })
    .collect()
}

/// The demo's stock without the line of a piece.
fn without(piece: &str) -> pb::PartsFiles {
    let mut stock = files("demo", "stock");
    for file in &mut stock.files {
        let lines = file.text.lines().filter(|line| !line.contains(piece));
        file.text = lines.map(|line| format!("{line}\n")).collect();
    }
    stock
}

#[tokio::test]
async fn pieces_that_a_build_took_are_named_and_come_back_only_where_it_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let shop = Running::start(folder.path()).await;
    let whole = || files("demo", "stock");
    publish(&shop, whole(), false)
        .await
        .expect("nothing is built yet");
    let of = shop.recommend(player(1, "one")).await;
    let done = shop.confirm(confirm(&of.id, 11, Vec::new())).await;
    done.expect("confirmed");
    let taken = taken(&of);
    assert!(taken.len() > 5, "{taken:?}");
    let before = shop.snapshot().await;

    // Also after a restart the log knows them, and a trial says them too.
    let shop = shop.restart(folder.path()).await;
    let refused = publish(&shop, whole(), false).await.expect_err("a refusal");
    assert_eq!(named(&refused), taken);
    let as_stock = |validate_only| pb::UpdateStockRequest {
        update: Some(Update::Whole(whole())),
        validate_only,
        ..changes(&before, pb::StockChanges::default())
    };
    for validate_only in [true, false] {
        let refused = shop.parts().update_stock(as_stock(validate_only)).await;
        assert_eq!(named(&refused.expect_err("a refusal")), taken);
    }
    assert_eq!(shop.snapshot().await, before);

    // One of them somebody has put back on the shelf himself.
    let (head, id) = driver_head(&of);
    let back = pb::StockChanges {
        add_pieces: vec![piece(&head, &id, "10.0 deg")],
        ..pb::StockChanges::default()
    };
    let back = shop.parts().update_stock(changes(&before, back)).await;
    back.expect("it has come");
    let refused = publish(&shop, whole(), false).await.expect_err("a refusal");
    let others = named(&refused);
    assert_eq!(others.len(), taken.len() - 1);
    assert!(others.iter().all(|said| !said.contains(&id)), "{others:?}");

    publish(&shop, whole(), true).await.expect("they came back");
    assert!(shop.has("head", &head, &id).await);
    // It is recorded that they did: none is missed once more.
    let other = others.first().and_then(|said| said.split('`').nth(1));
    let other = other.expect("a piece");
    publish(&shop, without(other), false)
        .await
        .expect("one less");
    publish(&shop, whole(), false).await.expect("and again");
    shop.stop().await;
}
