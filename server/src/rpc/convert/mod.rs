//! Where the interface's messages and the domain's types meet: nowhere else.
//!
//! One direction each: a request becomes texts that the engine's intake reads ([`player`]); a
//! recommendation (`bag`, `reason`) and a ruleset (`ruleset`) become messages.

mod bag;
pub mod player;
mod reason;
mod ruleset;
mod value;

use std::time::{SystemTime, UNIX_EPOCH};

use loftwright_dsl::quantity::Date;
use loftwright_engine::recommendation::Recommendation;
use loftwright_proto::v1 as pb;

use crate::workshop::StockIdentity;

pub use ruleset::ruleset_description;

/// The message of a recommendation. Every one is a preview: nothing is recorded yet.
pub fn recommendation(
    recommendation: &Recommendation,
    stock: &StockIdentity,
    made_on: Date,
    view: pb::RecommendationView,
) -> pb::Recommendation {
    let decisions = match view {
        pb::RecommendationView::Basic => Vec::new(),
        pb::RecommendationView::Unspecified | pb::RecommendationView::Full => {
            reason::decisions(&recommendation.decisions)
        }
    };
    pb::Recommendation {
        preview: true,
        ruleset: Some(pb::RulesetIdentity {
            name: recommendation.ruleset.name.clone(),
            title: recommendation.ruleset.title.clone(),
            meaning_digest: recommendation.digests.meaning.clone(),
            text_digest: recommendation.digests.text.clone(),
            contract_version: recommendation.contract_version,
            semantics_version: recommendation.semantics_version,
        }),
        parts: Some(pb::PartsSnapshot {
            name: stock.name.clone(),
            digest: stock.digest.clone(),
            stock_as_of: stock.as_of.and_then(timestamp),
        }),
        made_on: made_on.to_string(),
        clubs: recommendation.clubs.iter().map(bag::club).collect(),
        decisions,
        limits: reason::limits(&recommendation.limits),
        cautions: reason::cautions(&recommendation.cautions),
        missing_readings: reason::missing(&recommendation.missing),
        assumed_readings: value::named_texts(&recommendation.assumed),
        borderlines: reason::borderlines(&recommendation.borderline),
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
