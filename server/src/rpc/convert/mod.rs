//! Where the interface's messages and the domain's types meet: nowhere else.
//!
//! One direction each: a request becomes texts that the engine's intake reads ([`player`]); a
//! recommendation (`bag`, `reason`, `sure`, `ticket`), a ruleset (`ruleset`) and what a check has
//! to say (`finding`, `compare`) become messages. What is recorded becomes the canonical encoding
//! (`body`).

mod bag;
pub(crate) mod body;
mod canonical;
mod compare;
mod finding;
pub mod player;
mod reason;
pub(crate) mod replay;
mod ruleset;
mod sure;
mod ticket;
mod value;
mod why_not;

use std::thread::available_parallelism;
use std::time::{SystemTime, UNIX_EPOCH};

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;
use loftwright_engine::SEMANTICS_VERSION;
use loftwright_engine::recommendation::Recommendation;
use loftwright_engine::sure::{Depth, Workers};
use loftwright_proto::v1 as pb;

use crate::registry::{Ruleset, StockIdentity};

pub use compare::comparison;
pub use finding::{case_count, finding, finding_fault, is_refusal};
pub(crate) use reason::decisions;
pub use ruleset::ruleset_description;
pub(crate) use value::value;
pub(crate) use why_not::{candidate_not_taken, row_not_taken};

/// What identifies a program.
pub fn identity(program: &Program, revision: &str) -> pb::RulesetIdentity {
    pb::RulesetIdentity {
        name: program.name.clone(),
        title: program.title.clone(),
        meaning_digest: program.digests.meaning.clone(),
        text_digest: program.digests.text.clone(),
        contract_version: program.contract_version,
        semantics_version: SEMANTICS_VERSION,
        revision: revision.to_owned(),
    }
}

/// What a view wants to know of how sure the answer is.
pub fn depth_of(view: pb::RecommendationView) -> Depth {
    match view {
        pb::RecommendationView::Full => Depth::Full(every_core()),
        pb::RecommendationView::Unspecified
        | pb::RecommendationView::Basic
        | pb::RecommendationView::Reasons => Depth::Short,
    }
}

/// As many workers as this machine has cores: how many they are never shows in an answer.
fn every_core() -> Workers {
    available_parallelism().map_or(Workers::ONE, Workers::new)
}

/// The view that is recorded where another is asked for: no decision is left out.
pub(crate) fn recorded_view(view: pb::RecommendationView) -> pb::RecommendationView {
    match view {
        pb::RecommendationView::Full => pb::RecommendationView::Full,
        pb::RecommendationView::Unspecified
        | pb::RecommendationView::Basic
        | pb::RecommendationView::Reasons => pb::RecommendationView::Reasons,
    }
}

/// The message of a recommendation by `ruleset`, with the ticket of a subject where that is wanted.
/// It is a preview; whoever records it says so.
pub fn recommendation(
    recommendation: &Recommendation,
    ruleset: &Ruleset,
    made_on: Date,
    view: pb::RecommendationView,
    ticket_of: Option<&str>,
) -> pb::Recommendation {
    let decisions = match view {
        pb::RecommendationView::Basic => Vec::new(),
        pb::RecommendationView::Unspecified
        | pb::RecommendationView::Reasons
        | pb::RecommendationView::Full => reason::decisions(&recommendation.decisions),
    };
    pb::Recommendation {
        preview: true,
        ruleset: Some(identity(&ruleset.program, &ruleset.source.revision)),
        parts: Some(snapshot(&ruleset.stock)),
        made_on: made_on.to_string(),
        clubs: recommendation.clubs.iter().map(bag::club).collect(),
        plan: recommendation.plan.as_ref().map(bag::plan),
        decisions,
        limits: reason::limits(&recommendation.limits),
        cautions: reason::cautions(&recommendation.cautions),
        missing_readings: reason::missing(&recommendation.missing),
        assumed_readings: value::named_texts(&recommendation.assumed),
        borderlines: reason::borderlines(&recommendation.borderline),
        next_reading: recommendation.next_reading.as_ref().map(sure::next_reading),
        ticket: ticket_of.and_then(|subject| ticket::ticket(recommendation, subject)),
    }
}

/// What identifies a snapshot of parts and stock.
pub fn snapshot(stock: &StockIdentity) -> pb::PartsSnapshot {
    pb::PartsSnapshot {
        name: stock.name.clone(),
        digest: stock.digest.clone(),
        stock_as_of: stock.as_of.and_then(timestamp),
    }
}

fn timestamp(instant: SystemTime) -> Option<prost_types::Timestamp> {
    let since = instant.duration_since(UNIX_EPOCH).ok()?;
    Some(prost_types::Timestamp {
        seconds: i64::try_from(since.as_secs()).ok()?,
        // Whole seconds: a stock list is no stopwatch.
        nanos: 0,
    })
}
