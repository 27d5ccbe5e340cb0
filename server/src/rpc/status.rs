//! The one place where errors become statuses.
//!
//! Every status carries a `google.rpc.ErrorInfo` with a stable reason, so that a program never has
//! to read a sentence. A request that could be read and is wrong gets all its faults at once, as
//! `google.rpc.BadRequest`; what does not fit is counted.

use std::time::Duration;

use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt};

use super::record_refusals::what_helps;

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

/// One fault of a request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldFault {
    /// The path of the field: `readings.height`, `kept_clubs[2].loft`.
    pub field: String,
    /// A whole sentence: what was sent, what is allowed.
    pub sentence: String,
}

/// Why a request gets no answer.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// It could be read and is wrong.
    #[error("{}", faults_sentence(.0))]
    Faults(Vec<FieldFault>),
    /// There is no such ruleset.
    #[error("no ruleset `{sent}` is served here; there {} {}", is_or_are(.known), quoted(.known))]
    UnknownRuleset {
        /// The name that was sent.
        sent: String,
        /// The names that are known.
        known: Vec<String>,
    },
    /// Rules that were to be published are refused: every finding.
    #[error("the rules are refused: {}", faults_sentence(.0))]
    RulesRefused(Vec<FieldFault>),
    /// Files of catalogue or stock are refused: every finding.
    #[error("the parts are refused: {}", faults_sentence(.0))]
    PartsRefused(Vec<FieldFault>),
    /// Another stock is in force than the caller knows.
    #[error(
        "the snapshot in force is {}, not {}; look at the stock, then change it again",
        revision_text(.in_force), revision_text(.expected)
    )]
    OtherSnapshotInForce {
        /// The digest that the caller expected.
        expected: String,
        /// The digest of what is in force.
        in_force: String,
    },
    /// Pieces that a build takes are not on hand.
    #[error("the build is not confirmed: {}", faults_sentence(.0))]
    PiecesGone(Vec<FieldFault>),
    /// A stock would bring back pieces that builds took.
    #[error("{}; where all are on hand again, send `pieces_came_back` \
         (`parts publish --pieces-came-back`)", faults_sentence(.0))]
    PiecesTaken(Vec<FieldFault>),
    /// The build of a record was confirmed before.
    #[error(
        "what was built of record `{record}` was confirmed by `{confirmation}`; send that as \
         `supersedes` to replace it"
    )]
    BuiltAlready {
        /// The record of the recommendation.
        record: String,
        /// The record of the confirmation.
        confirmation: String,
    },
    /// A record that is none of a recommendation.
    #[error("record `{0}` is not that of a recommendation")]
    NoRecommendation(String),
    /// So many revisions are kept already.
    #[error(
        "the limit `revisions` of {most} revisions is reached, which are kept in memory; start the \
         service with a data directory"
    )]
    TooManyRevisions {
        /// The limit.
        most: usize,
    },
    /// There is no such revision.
    #[error(
        "no revision `{}` of `{}` is published here; published {} {}",
        shortened(.sent, 80), shortened(.ruleset, 80), is_or_are(.known), quoted(.known)
    )]
    UnknownRevision {
        /// The ruleset that was named.
        ruleset: String,
        /// The revision that was sent.
        sent: String,
        /// Those that are published.
        known: Vec<String>,
    },
    /// A revision cannot be read back.
    #[error(
        "revision {} of `{}` cannot be read: {why}; until it can, another one may be put in force",
        revision_text(.revision), shortened(.ruleset, 80)
    )]
    RevisionUnreadable {
        /// The ruleset.
        ruleset: String,
        /// The revision.
        revision: String,
        /// Why.
        why: String,
    },
    /// Whoever published a revision wants to put it in force himself.
    #[error(
        "`{0}` published this revision, and somebody else puts it in force; for a workshop of one \
         there is `loftwright principals own-activation allow`"
    )]
    OwnRevision(String),
    /// Another replay runs.
    #[error("the limit `replays_at_once` of 1 is reached; wait until the other one has ended")]
    ReplayRuns,
    /// Another revision is in force than the caller knows.
    #[error(
        "the revision in force is {}, not {}; look at it, then activate again",
        revision_text(.in_force), revision_text(.expected)
    )]
    OtherRevisionInForce {
        /// What the caller expected; empty for none.
        expected: String,
        /// What is in force; empty for none.
        in_force: String,
    },
    /// Nobody knows who asks.
    #[error("{0}; send `authorization: Bearer KEY` with a key of a principal of this service")]
    NotAuthenticated(&'static str),
    /// Whoever asks has none of the roles that may.
    #[error(
        "`{principal}` may not call {method}: it needs {} `{}`, and he has `{}`",
        role_or_one_of(.needed), .needed.join("`, `"), .has.join("`, `")
    )]
    RoleLacking {
        /// Who asks.
        principal: String,
        /// What he called.
        method: String,
        /// The roles of which one is needed.
        needed: Vec<&'static str>,
        /// The roles that he has.
        has: Vec<&'static str>,
    },
    /// There is no such method.
    #[error("there is no method `{}` here", shortened(.0, 80))]
    UnknownMethod(String),
    /// Nothing is recorded here.
    #[error(
        "nothing is recorded here: start the service with a data directory, or send \
         `preview: true`; nothing is kept of a preview"
    )]
    RecordsNotKept,
    /// Too many records wait to be written.
    #[error("the limit `records_waiting` of {most} records is reached; try again in a moment")]
    TooManyRecordsWaiting {
        /// The limit.
        most: usize,
    },
    /// Writing failed, and nothing is recorded any more.
    #[error("nothing is recorded any more: writing the record failed; the service's log says why")]
    RecordStopped,
    /// The id of another request.
    #[error(
        "the request id `{0}` belongs to another request, which was recorded; take a new id for a \
         new request"
    )]
    RequestIdReused(String),
    /// There is no such record.
    #[error("there is no record `{}` here: {why}", shortened(.sent, 80))]
    UnknownRecord {
        /// The id that was sent.
        sent: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// The record cannot be read any more.
    #[error("record `{0}` cannot be read: its subject was erased")]
    RecordErased(String),
    /// The record is not what was written.
    #[error("the record is damaged: {}{}", .0, what_helps(.0))]
    RecordDamaged(String),
    /// There is no such subject.
    #[error("no record of that subject is kept here under a key")]
    UnknownSubject,
    /// An erasure is recorded, and something of the key can still be found.
    #[error("{}", crate::store::NotRecorded::ErasureUnfinished)]
    ErasureUnfinished,
    /// The request is too large.
    #[error("the request is larger than the limit `request_bytes` of {most} bytes")]
    MessageTooLarge {
        /// The limit in bytes.
        most: usize,
    },
    /// Too many requests are in work.
    #[error("the limit `requests_at_once` of {most} requests is reached; try again in a moment")]
    TooManyAtOnce {
        /// The limit.
        most: usize,
    },
    /// The caller's deadline has passed.
    #[error("the deadline that the request came with has passed")]
    DeadlinePassed,
    /// A fault of this program.
    #[error("a fault of this service, not of the request; it has been logged")]
    OwnFault,
}

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

    /// All faults at once, where it has several.
    fn faults(&self) -> Option<&[FieldFault]> {
        match self {
            Refusal::Faults(faults)
            | Refusal::RulesRefused(faults)
            | Refusal::PartsRefused(faults)
            | Refusal::PiecesTaken(faults)
            | Refusal::PiecesGone(faults) => Some(faults),
            _ => None,
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
fn listed(faults: &[FieldFault]) -> &[FieldFault] {
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

fn faults_sentence(faults: &[FieldFault]) -> String {
    let first = faults.first().map_or("", |fault| fault.sentence.as_str());
    let listed = listed(faults).len();
    match faults.len() {
        0 | 1 => first.to_owned(),
        count if count > listed => {
            format!(
                "{count} faults, {listed} of them listed, {} more; the first: {first}",
                count - listed
            )
        }
        count => format!("{count} faults; the first: {first}"),
    }
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

fn quoted(names: &[String]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match quoted.split_last() {
        None => "none".to_owned(),
        Some((only, [])) => only.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
    }
}

fn revision_text(revision: &str) -> String {
    match revision {
        "" => "none".to_owned(),
        revision => format!("`{}`", shortened(revision, 80)),
    }
}

fn role_or_one_of(roles: &[&str]) -> &'static str {
    match roles {
        [_] => "the role",
        _ => "one of the roles",
    }
}

fn is_or_are(names: &[String]) -> &'static str {
    if names.len() > 1 { "are" } else { "is" }
}

#[cfg(test)]
#[path = "status_tests.rs"]
mod tests;
