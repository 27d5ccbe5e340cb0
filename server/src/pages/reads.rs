//! A person reads a record: that is recorded before the page is shown.

use super::Site;
use super::refused::PageFault;
use crate::registry::Principal;
use crate::rpc::handing_out::note_read;

/// Records that the record of an id is read, as a whole or one decision of it.
///
/// # Errors
/// [`PageFault`]: there is no such record, or nothing can be recorded; then nothing is shown.
pub(super) async fn note(
    site: &Site,
    who: &Principal,
    id: &str,
    part: &str,
) -> Result<(), PageFault> {
    let found = site.recording.find(id).await?;
    note_read(&site.recording, who, &found, part).await?;
    Ok(())
}
