//! Bytes of the database's file that are others: found, or nothing that is kept is another for it.

use std::path::Path;

use sqlx::ConnectOptions;
use sqlx::sqlite::SqliteConnectOptions;

use crate::support::{behind_its_back, image};
use crate::tamper_bytes::{Cell, NOT_FOUND, cells, columns};
use crate::tamper_matrix::{found, small_log};

/// Every so many of the bytes that are not zero; a prime, so that no column of a row is left out.
const EVERY: usize = 13;

/// The bytes of the first page. It holds what the tables are called and made of: another name there
/// is an error as soon as somebody asks for it by ours, and changes nothing that is kept.
const FIRST_PAGE: usize = 8192;

/// What is kept, column by column. How far the index of requests goes is none of it: where that
/// loses a request, it is found by the request.
async fn kept(folder: &Path) -> Vec<(String, Vec<Cell>)> {
    let options = SqliteConnectOptions::new().filename(folder.join("record.sqlite"));
    let mut connection = options.connect().await.expect("a connection");
    let mut kept = Vec::new();
    for (table, column) in columns(&mut connection).await {
        let is_compared = !NOT_FOUND.contains(&(table.as_str(), column.as_str()));
        if is_compared && table != "request_ranges" {
            let mut cells = cells(&mut connection, &table, &column).await;
            cells.sort();
            kept.push((format!("{table}.{column}"), cells));
        }
    }
    kept
}

/// A small log, all of it in the file itself.
async fn in_one_file() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    small_log(folder.path()).await;
    behind_its_back(folder.path(), "PRAGMA wal_checkpoint(TRUNCATE)").await;
    folder
}

/// What is found where one byte of the file is another.
async fn found_at(whole: &Path, bytes: &[u8], place: usize) -> (tempfile::TempDir, Option<String>) {
    let folder = tempfile::tempdir().expect("a folder");
    image(whole, folder.path());
    let mut other = bytes.to_vec();
    if let Some(byte) = other.get_mut(place) {
        *byte ^= 1;
    }
    std::fs::write(folder.path().join("record.sqlite"), other).expect("written");
    let said = found(folder.path()).await;
    (folder, said)
}

#[tokio::test]
async fn a_byte_of_the_file_that_is_another_is_found_or_changes_nothing_that_is_kept() {
    let whole = in_one_file().await;
    let bytes = std::fs::read(whole.path().join("record.sqlite")).expect("read");
    let before = kept(whole.path()).await;
    let places = bytes.iter().enumerate().skip(FIRST_PAGE);
    let places = places.filter(|(_, byte)| **byte != 0);
    let mut missed = 0;
    for (place, _) in places.step_by(EVERY) {
        let (folder, said) = found_at(whole.path(), &bytes, place).await;
        if said.is_none() {
            missed += 1;
            let after = kept(folder.path()).await;
            let differ = |(one, other): &(_, _)| one != other;
            let other = after
                .iter()
                .zip(&before)
                .find(differ)
                .map(|(one, _)| &one.0);
            assert_eq!(other, None, "byte {place}");
            assert_eq!(after.len(), before.len(), "byte {place}");
        }
    }
    assert!(missed < 500, "{missed}");
}

/// Who may do what, and what is in force, is read by an index when a service starts.
#[tokio::test]
async fn an_index_that_has_lost_an_act_is_found() {
    let whole = in_one_file().await;
    let bytes = std::fs::read(whole.path().join("record.sqlite")).expect("read");
    let word = b"published";
    let places = bytes.windows(word.len()).enumerate();
    let places: Vec<usize> = places
        .filter(|(_, window)| window == word)
        .map(|(place, _)| place)
        .collect();
    // In two leaves, in their facts, in the index of acts.
    assert!(places.len() >= 6, "{places:?}");
    for place in places {
        let (_, said) = found_at(whole.path(), &bytes, place).await;
        assert!(said.is_some(), "byte {place}");
    }
}
