//! Why a request gets no answer, in a sentence that says what helps.

use super::record_refusals::what_helps;
use super::status::{listed, shortened};

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
    /// All faults at once, where it has several.
    pub(super) fn faults(&self) -> Option<&[FieldFault]> {
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
