//! Each byte of what a small log keeps, in every column of every table: that another one stands
//! there is found, but for the columns that are listed.

use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use sqlx::{ConnectOptions, Row};

use crate::support::Log;
use crate::tamper_matrix::{found, found_by_check, small_log};

/// Columns of which a change is not found by what the store alone can read: `tamper_bodies`.
pub(crate) const NOT_FOUND: [(&str, &str); 4] = [
    ("log", "secret"),
    ("records", "request_contents"),
    ("subjects", "subject_hash"),
    ("subjects", "salt"),
];

/// A value of a column.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Cell {
    Number(i64),
    Text(String),
    Bytes(Vec<u8>),
}

impl Cell {
    /// The value with each of its bytes changed; a number is moved away from all others.
    fn changed(&self) -> Vec<Cell> {
        let flipped = |bytes: &[u8]| -> Vec<Vec<u8>> {
            let places = 0..bytes.len();
            let flip = |place| {
                let mut other = bytes.to_vec();
                if let Some(byte) = other.get_mut(place) {
                    *byte ^= 1;
                }
                other
            };
            places.map(flip).collect()
        };
        match self {
            Cell::Number(number) => vec![Cell::Number(number + 1000)],
            Cell::Bytes(bytes) => flipped(bytes).into_iter().map(Cell::Bytes).collect(),
            Cell::Text(text) => {
                let others = flipped(text.as_bytes()).into_iter();
                let others = others.filter_map(|other| String::from_utf8(other).ok());
                others.map(Cell::Text).collect()
            }
        }
    }
}

pub(crate) async fn columns(connection: &mut SqliteConnection) -> Vec<(String, String)> {
    let rows = sqlx::query(
        "SELECT tables.name, columns.name FROM sqlite_schema tables, \
         pragma_table_info(tables.name) columns \
         WHERE tables.type = 'table' AND tables.name NOT LIKE 'sqlite%'",
    );
    let rows = rows.fetch_all(connection).await.expect("columns");
    rows.iter().map(|row| (row.get(0), row.get(1))).collect()
}

pub(crate) async fn cells(
    connection: &mut SqliteConnection,
    table: &str,
    column: &str,
) -> Vec<Cell> {
    let sql = format!(
        "SELECT DISTINCT {column}, typeof({column}) FROM {table} WHERE {column} IS NOT NULL"
    );
    let rows = sqlx::query(sqlx::AssertSqlSafe(sql));
    let rows = rows.fetch_all(connection).await.expect("cells");
    let cell = |row: &sqlx::sqlite::SqliteRow| match row.get(1) {
        "integer" => Cell::Number(row.get(0)),
        "text" => Cell::Text(row.get(0)),
        _ => Cell::Bytes(row.get(0)),
    };
    rows.iter().map(cell).collect()
}

/// Whether the database lets a value be another.
async fn put(
    connection: &mut SqliteConnection,
    (table, column): (&str, &str),
    old: &Cell,
    new: &Cell,
) -> bool {
    let sql = format!("UPDATE {table} SET {column} = ? WHERE {column} = ?");
    let mut query = sqlx::query(sqlx::AssertSqlSafe(sql));
    for cell in [new, old] {
        query = match cell.clone() {
            Cell::Number(number) => query.bind(number),
            Cell::Text(text) => query.bind(text),
            Cell::Bytes(bytes) => query.bind(bytes),
        };
    }
    query.execute(connection).await.is_ok()
}

/// A copy of a log, of which one value after the other is another and is put back.
struct Copied {
    folder: tempfile::TempDir,
    connection: SqliteConnection,
    /// Open, unless what is looked at only as it is opened is asked for.
    log: Option<Log>,
}

impl Copied {
    async fn of(folder: tempfile::TempDir) -> Self {
        let options = SqliteConnectOptions::new().filename(folder.path().join("record.sqlite"));
        let connection = options.connect().await.expect("a connection");
        Copied {
            folder,
            connection,
            log: None,
        }
    }

    /// What is found of a value that is another; an error where the database does not let it be.
    async fn said(
        &mut self,
        place: (&str, &str),
        old: &Cell,
        new: &Cell,
    ) -> Result<Option<String>, ()> {
        let open = match self.log.take() {
            Some(open) => open,
            None => Log::open(self.folder.path()).await.expect("whole"),
        };
        if !put(&mut self.connection, place, old, new).await {
            self.log = Some(open);
            return Err(());
        }
        let mut said = found_by_check(&open).await;
        if said.is_some() {
            self.log = Some(open);
        } else {
            drop(open);
            said = found(self.folder.path()).await;
        }
        assert!(put(&mut self.connection, place, new, old).await, "put back");
        Ok(said)
    }
}

#[tokio::test]
async fn each_byte_of_every_table_that_is_another_is_found() {
    let folder = tempfile::tempdir().expect("a folder");
    small_log(folder.path()).await;
    assert_eq!(found(folder.path()).await, None);
    let mut copied = Copied::of(folder).await;
    let mut tried = 0;
    for (table, column) in columns(&mut copied.connection).await {
        let place = (table.as_str(), column.as_str());
        let is_never_found = NOT_FOUND.contains(&place);
        for old in cells(&mut copied.connection, &table, &column).await {
            let changed = old.changed();
            // One is enough to see that the list of what is not found is not too long.
            let most = if is_never_found { 1 } else { changed.len() };
            for new in changed.into_iter().take(most) {
                let Ok(said) = copied.said(place, &old, &new).await else {
                    continue;
                };
                let is_found = said.is_some();
                assert_eq!(
                    is_found, !is_never_found,
                    "{table}.{column}: {old:?}, {new:?}"
                );
                tried += 1;
            }
        }
    }
    assert!(tried > 3000, "{tried}");
}
