//! A person reads a record: that is recorded before the page is shown.

use std::time::SystemTime;

use zeroize::Zeroizing;

use super::Site;
use super::refused::PageFault;
use crate::audit::act::RecordRead;
use crate::audit::leaf::{LeafKind, Salt};
use crate::audit::merkle::leaf_hash;
use crate::rpc::recording::{bare_header, recorder_refusal};
use crate::rpc::status::Refusal;
use crate::store::{Entry, EntryFacts};

/// Records that the record of an id is read, as a whole or one decision of it.
///
/// # Errors
/// [`PageFault`]: there is no such record, or nothing can be recorded; then nothing is shown.
pub(super) async fn note(site: &Site, id: &str, part: &str) -> Result<(), PageFault> {
    let found = site.recording.find(id).await?;
    let position = found.reference.position;
    let act = RecordRead {
        record: position,
        record_leaf: leaf_hash(&found.leaf_bytes),
        part: part.to_owned(),
    };
    let body = act.to_bytes().map_err(|_| Refusal::OwnFault)?;
    let entry = Entry {
        header: bare_header(LeafKind::ReadByAPerson, SystemTime::now())?,
        subject: None,
        salt: Salt::generate().map_err(|_| Refusal::OwnFault)?,
        body: Zeroizing::new(body),
        request: None,
        facts: EntryFacts {
            about: Some(position),
            ..EntryFacts::default()
        },
        blobs: Vec::new(),
    };
    let placed = site.recording.recorder.keep(entry).await;
    placed.map_err(recorder_refusal)?;
    Ok(())
}
