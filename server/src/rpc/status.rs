//! The one place where refusals become statuses.
//!
//! Every status carries a `google.rpc.ErrorInfo` with a stable reason, so that a program never has
//! to read a sentence. A request that could be read and is wrong gets all its faults at once, as
//! `google.rpc.BadRequest`; what does not fit is counted.

use std::time::Duration;

use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt};

use super::refusal::{FieldFault, Refusal};

/// The domain of every reason.
pub const DOMAIN: &str = "loftwright";

/// The most faults of one request that are listed; the rest is counted.
pub const MOST_FAULTS_LISTED: usize = 50;

/// The most bytes of one fault's sentence that are sent back.
const MOST_SENTENCE_BYTES: usize = 240;

/// The most bytes of a message that has no faults listed beside it: two digests and what helps.
const MOST_MESSAGE_BYTES: usize = 600;

/// The most bytes of all listed faults together: details travel in a header, as base64, and many
/// clients take no more than 8 KiB of headers.
const MOST_FAULT_BYTES: usize = 5_000;

impl Refusal {
    /// The stable reason of `google.rpc.ErrorInfo`.
    pub fn reason(&self) -> &'static str {
        match self {
            Refusal::Faults(_) => "REQUEST_FAULTY",
            Refusal::UnknownRuleset { .. } => "RULESET_UNKNOWN",
            Refusal::RulesRefused(_) => "RULES_REFUSED",
            Refusal::PartsRefused(_) => "PARTS_REFUSED",
            Refusal::OtherSnapshotInForce { .. } => "OTHER_SNAPSHOT_IN_FORCE",
            Refusal::PiecesGone(_) => "PIECES_GONE",
            Refusal::PiecesTaken(_) => "PIECES_TAKEN",
            Refusal::BuiltAlready { .. } => "BUILT_ALREADY",
            Refusal::NoRecommendation(_) => "NO_RECOMMENDATION",
            Refusal::TooManyRevisions { .. } => "TOO_MANY_REVISIONS",
            Refusal::UnknownRevision { .. } => "REVISION_UNKNOWN",
            Refusal::RevisionUnreadable { .. } => "REVISION_UNREADABLE",
            Refusal::ReplayRuns => "REPLAY_RUNS",
            Refusal::OwnRevision(_) => "OWN_REVISION",
            Refusal::OtherRevisionInForce { .. } => "OTHER_REVISION_IN_FORCE",
            Refusal::NotAuthenticated(_) => "NOT_AUTHENTICATED",
            Refusal::RoleLacking { .. } => "ROLE_LACKING",
            Refusal::UnknownMethod(_) => "METHOD_UNKNOWN",
            Refusal::RecordsNotKept => "RECORDS_NOT_KEPT",
            Refusal::TooManyRecordsWaiting { .. } => "TOO_MANY_RECORDS_WAITING",
            Refusal::RecordStopped => "RECORD_STOPPED",
            Refusal::RequestIdReused(_) => "REQUEST_ID_REUSED",
            Refusal::UnknownRecord { .. } => "RECORD_UNKNOWN",
            Refusal::RecordErased(_) => "RECORD_ERASED",
            Refusal::RecordDamaged(_) => "RECORD_DAMAGED",
            Refusal::UnknownSubject => "SUBJECT_UNKNOWN",
            Refusal::ErasureUnfinished => "ERASURE_UNFINISHED",
            Refusal::MessageTooLarge { .. } => "REQUEST_TOO_LARGE",
            Refusal::TooManyAtOnce { .. } => "TOO_MANY_REQUESTS_AT_ONCE",
            Refusal::DeadlinePassed => "DEADLINE_PASSED",
            Refusal::OwnFault => "OWN_FAULT",
        }
    }

    /// The status code.
    pub fn code(&self) -> Code {
        match self {
            Refusal::Faults(_) | Refusal::RulesRefused(_) | Refusal::PartsRefused(_) => {
                Code::InvalidArgument
            }
            Refusal::UnknownRuleset { .. }
            | Refusal::UnknownRevision { .. }
            | Refusal::UnknownRecord { .. }
            | Refusal::UnknownSubject => Code::NotFound,
            Refusal::NotAuthenticated(_) => Code::Unauthenticated,
            Refusal::RoleLacking { .. } | Refusal::OwnRevision(_) => Code::PermissionDenied,
            Refusal::UnknownMethod(_) => Code::Unimplemented,
            Refusal::RecordStopped | Refusal::ErasureUnfinished => Code::Unavailable,
            Refusal::RequestIdReused(_) | Refusal::BuiltAlready { .. } => Code::AlreadyExists,
            Refusal::RecordDamaged(_) => Code::DataLoss,
            Refusal::OtherRevisionInForce { .. } | Refusal::OtherSnapshotInForce { .. } => {
                Code::Aborted
            }
            Refusal::RecordsNotKept
            | Refusal::PiecesGone(_)
            | Refusal::PiecesTaken(_)
            | Refusal::NoRecommendation(_)
            | Refusal::RecordErased(_)
            | Refusal::RevisionUnreadable { .. } => Code::FailedPrecondition,
            Refusal::MessageTooLarge { .. }
            | Refusal::TooManyAtOnce { .. }
            | Refusal::TooManyRecordsWaiting { .. }
            | Refusal::TooManyRevisions { .. }
            | Refusal::ReplayRuns => Code::ResourceExhausted,
            Refusal::DeadlinePassed => Code::DeadlineExceeded,
            Refusal::OwnFault => Code::Internal,
        }
    }

    fn metadata(&self) -> Vec<(&'static str, String)> {
        if let Some(faults) = self.faults() {
            return vec![
                ("faults", faults.len().to_string()),
                ("listed", listed(faults).len().to_string()),
            ];
        }
        match self {
            Refusal::UnknownRuleset { sent, known } => vec![
                ("sent", shortened(sent, MOST_SENTENCE_BYTES)),
                ("known", known.join(", ")),
            ],
            Refusal::UnknownRevision { sent, known, .. } => vec![
                ("sent", shortened(sent, MOST_SENTENCE_BYTES)),
                ("known", shortened(&known.join(", "), MOST_FAULT_BYTES)),
            ],
            Refusal::OtherRevisionInForce { in_force, .. }
            | Refusal::OtherSnapshotInForce { in_force, .. } => {
                vec![("in_force", in_force.clone())]
            }
            Refusal::BuiltAlready { confirmation, .. } => {
                vec![("confirmation", confirmation.clone())]
            }
            Refusal::ReplayRuns => limit_metadata("replays_at_once", 1),
            Refusal::TooManyRevisions { most } => limit_metadata("revisions", *most),
            Refusal::MessageTooLarge { most } => limit_metadata("request_bytes", *most),
            Refusal::TooManyAtOnce { most } => limit_metadata("requests_at_once", *most),
            Refusal::TooManyRecordsWaiting { most } => limit_metadata("records_waiting", *most),
            Refusal::UnknownRecord { sent, .. } => {
                vec![("sent", shortened(sent, MOST_SENTENCE_BYTES))]
            }
            Refusal::RoleLacking {
                principal,
                method,
                needed,
                ..
            } => vec![
                ("principal", principal.clone()),
                ("method", method.clone()),
                ("roles_needed", needed.join(", ")),
            ],
            Refusal::RevisionUnreadable {
                ruleset, revision, ..
            } => vec![("ruleset", ruleset.clone()), ("revision", revision.clone())],
            Refusal::OwnRevision(principal) => vec![("principal", principal.clone())],
            Refusal::UnknownMethod(path) => {
                vec![("method", shortened(path, MOST_SENTENCE_BYTES))]
            }
            Refusal::RequestIdReused(id) => vec![("request_id", id.clone())],
            Refusal::RecordErased(id) | Refusal::NoRecommendation(id) => {
                vec![("record", id.clone())]
            }
            Refusal::NotAuthenticated(_)
            | Refusal::Faults(_)
            | Refusal::RulesRefused(_)
            | Refusal::PartsRefused(_)
            | Refusal::PiecesGone(_)
            | Refusal::PiecesTaken(_)
            | Refusal::RecordsNotKept
            | Refusal::RecordStopped
            | Refusal::RecordDamaged(_)
            | Refusal::UnknownSubject
            | Refusal::ErasureUnfinished
            | Refusal::DeadlinePassed
            | Refusal::OwnFault => Vec::new(),
        }
    }
}

impl From<Refusal> for Status {
    fn from(refusal: Refusal) -> Status {
        let metadata: Vec<(String, String)> = refusal
            .metadata()
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value))
            .collect();
        let mut details = ErrorDetails::new();
        details.set_error_info(
            refusal.reason(),
            DOMAIN,
            metadata
                .into_iter()
                .collect::<std::collections::HashMap<_, _>>(),
        );
        if let Some(faults) = refusal.faults() {
            for fault in listed(faults) {
                details.add_bad_request_violation(
                    fault.field.clone(),
                    shortened(&fault.sentence, MOST_SENTENCE_BYTES),
                );
            }
        }
        match refusal {
            Refusal::TooManyAtOnce { .. } | Refusal::TooManyRecordsWaiting { .. } => {
                details.set_retry_info(Some(Duration::from_millis(100)));
            }
            Refusal::ErasureUnfinished => {
                details.set_retry_info(Some(Duration::from_secs(1)));
            }
            _ => {}
        }
        let most = refusal
            .faults()
            .map_or(MOST_MESSAGE_BYTES, |_| MOST_SENTENCE_BYTES);
        let message = shortened(&refusal.to_string(), most);
        Status::with_error_details(refusal.code(), message, details)
    }
}

fn limit_metadata(name: &str, most: usize) -> Vec<(&'static str, String)> {
    vec![("limit", name.to_owned()), ("most", most.to_string())]
}

/// As many of the faults as are sent back, in their order: at least one.
pub(super) fn listed(faults: &[FieldFault]) -> &[FieldFault] {
    let mut bytes = 0;
    let fitting = faults
        .iter()
        .take(MOST_FAULTS_LISTED)
        .take_while(|fault| {
            // Six bytes of tags and lengths a violation.
            bytes += fault.field.len() + fault.sentence.len().min(MOST_SENTENCE_BYTES) + 6;
            bytes <= MOST_FAULT_BYTES
        })
        .count();
    faults.get(..fitting.max(1)).unwrap_or(faults)
}

/// The text cut to at most so many bytes, at a character, with an ellipsis where it was cut.
pub fn shortened(text: &str, most: usize) -> String {
    if text.len() <= most {
        return text.to_owned();
    }
    let end = text
        .char_indices()
        .map(|(start, _)| start)
        .take_while(|start| *start <= most.saturating_sub(3))
        .last()
        .unwrap_or(0);
    format!("{}…", text.get(..end).unwrap_or(""))
}

#[cfg(test)]
#[path = "status_tests.rs"]
mod tests;
