//! Why nothing is recorded or read, as a caller is told.

use super::refusal::Refusal;
use crate::registry::ActNotRecorded;
use crate::store::{KeyChangeError, NotRecorded, StoreError};

/// Why an act is not recorded, as a caller is told.
pub(super) fn act_refusal(why: ActNotRecorded) -> Refusal {
    match why {
        ActNotRecorded::Recorder(why) => recorder_refusal(why),
        why @ (ActNotRecorded::Body(_) | ActNotRecorded::Own) => {
            tracing::error!(%why, "an act is not recorded");
            Refusal::OwnFault
        }
    }
}

pub(crate) fn recorder_refusal(why: NotRecorded) -> Refusal {
    match why {
        NotRecorded::QueueFull { most } => Refusal::TooManyRecordsWaiting { most },
        NotRecorded::Stopped => Refusal::RecordStopped,
        NotRecorded::NoSubject => Refusal::UnknownSubject,
        NotRecorded::ErasureUnfinished => Refusal::ErasureUnfinished,
    }
}

pub(crate) fn store_refusal(why: StoreError) -> Refusal {
    tracing::error!(%why, "the record cannot be read or written");
    if why.is_damage() {
        return Refusal::RecordDamaged(why.to_string());
    }
    Refusal::OwnFault
}

/// Why the keys of the log cannot be said, as a caller is told.
pub(super) fn keys_refusal(why: KeyChangeError) -> Refusal {
    match why {
        KeyChangeError::Store(why) => store_refusal(why),
        why => damaged(&why.to_string()),
    }
}

pub(crate) fn damaged(why: &str) -> Refusal {
    tracing::error!(why, "the record is damaged");
    Refusal::RecordDamaged(why.to_owned())
}

/// What helps against damage, unless what is said of it says so itself.
pub(super) fn what_helps(why: &str) -> &'static str {
    match why.contains("from a backup") {
        true => "",
        false => "; put the data directory back from a backup",
    }
}
