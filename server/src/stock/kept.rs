//! The stock in the log: its files as blobs, its acts as leaves. The last act says all of it.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use sha2::{Digest, Sha256};

use crate::audit::act::{ActFault, PartsChanged, StockChange};
use crate::audit::leaf::LeafKind;
use crate::audit::merkle::Hash;
use crate::files::{PartsFiles, TextFile};
use crate::registry::Stock;
use crate::store::{KeptBody, ListFilter, Store, StoreError};

/// The stock that a log says is in force.
#[derive(Clone, Debug)]
pub struct InLog {
    /// The place of the act that brought it.
    pub position: u64,
    /// The stock.
    pub stock: Stock,
}

/// Why the stock of a log cannot be read.
#[derive(Debug, thiserror::Error)]
pub enum NotInLog {
    /// The store fails.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The act cannot be read.
    #[error(
        "record {position}, a change of the stock, cannot be read: {why}; use the release that \
         wrote it, or put the data directory back from a backup"
    )]
    Act {
        /// Its place.
        position: u64,
        /// Why.
        why: ActFault,
    },
    /// A file of the stock is gone.
    #[error(
        "record {position} says that `{file}` is a file of the stock, and it is not kept any more; \
         put the data directory back from a backup"
    )]
    NoFile {
        /// The place of the act.
        position: u64,
        /// The path of the file.
        file: String,
    },
}

/// The act that brings a stock, and the contents that are kept with it.
pub(crate) fn act_of(
    stock: &Stock,
    reason: &str,
    changes: Vec<StockChange>,
    record: Option<u64>,
) -> (PartsChanged, Vec<Arc<[u8]>>) {
    let mut files = BTreeMap::new();
    let mut contents: Vec<Arc<[u8]>> = Vec::new();
    for file in stock.files.files() {
        files.insert(file.path.clone(), digest_of(file.text.as_bytes()));
        contents.push(file.text.as_bytes().into());
    }
    let act = PartsChanged {
        stock: stock.name.clone(),
        files,
        as_of_ms: stock.as_of.and_then(crate::registry::instant_ms),
        reason: reason.to_owned(),
        changes,
        record,
    };
    (act, contents)
}

/// The stock in force by a log; `None` where none was ever recorded.
///
/// # Errors
/// [`NotInLog`].
pub async fn of_log(store: &dyn Store) -> Result<Option<InLog>, NotInLog> {
    let filter = ListFilter {
        kinds: vec![LeafKind::Catalogue, LeafKind::Stock],
        ..ListFilter::default()
    };
    let last = store.list(&filter, None, 1).await?;
    let Some(position) = last.first().map(|listed| listed.position) else {
        return Ok(None);
    };
    let act = act_at(store, position).await?;
    let mut files = Vec::new();
    for (path, digest) in act.files {
        let content = store.blob(digest).await?;
        let text = content.and_then(|content| String::from_utf8(content).ok());
        let text = text.ok_or_else(|| NotInLog::NoFile {
            position,
            file: path.clone(),
        })?;
        files.push(TextFile {
            shown: path.clone(),
            path,
            text,
        });
    }
    let stock = Stock {
        name: act.stock,
        files: PartsFiles::of(files),
        as_of: act.as_of_ms.and_then(instant),
    };
    Ok(Some(InLog { position, stock }))
}

/// The act at a place.
pub(super) async fn act_at(store: &dyn Store, position: u64) -> Result<PartsChanged, NotInLog> {
    let body = match store.body(position).await? {
        KeptBody::Whole { body, .. } => body,
        KeptBody::Erased | KeptBody::NoLeaf => {
            let what = "the body of an act is missing";
            return Err(StoreError::Row { position, what }.into());
        }
    };
    PartsChanged::of_bytes(&body).map_err(|why| NotInLog::Act { position, why })
}

fn digest_of(content: &[u8]) -> Hash {
    Hash(Sha256::digest(content).into())
}

fn instant(milliseconds: i64) -> Option<SystemTime> {
    let since = Duration::from_millis(u64::try_from(milliseconds).ok()?);
    UNIX_EPOCH.checked_add(since)
}
