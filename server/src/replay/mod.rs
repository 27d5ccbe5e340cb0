//! Past recommendations evaluated again by another revision: which decisions come to something
//! else, and by which rows.
//!
//! A recommendation is evaluated with the parts that were recorded with it and on its day, so that
//! what differs is the rules' doing. Most stay the same: of a body only what is compared is looked
//! at ([`past`]), and reasons are rendered for those alone that change ([`compared`]). Nothing here
//! reads a store or a clock.

pub mod compared;
pub mod past;
pub mod summary;

use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::explain::Briefing;
use loftwright_engine::intake;
use loftwright_engine::parts::Parts;

use self::compared::{ChangedDecision, changed};
use self::past::Past;
use crate::rpc::convert::body::content_of_bytes;

/// How a recommendation compares.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Replayed {
    /// Every decision comes to the same.
    Same,
    /// These do not.
    Changed(Vec<ChangedDecision>),
    /// It cannot be compared.
    NotComparable(NotComparable),
}

/// Why a recommendation cannot be compared. No value of a reading is said.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
pub enum NotComparable {
    /// Its subject was erased.
    #[error("its subject was erased")]
    Erased,
    /// It was made with other semantics.
    #[error("it was made with semantics {0} of the engine; this release has another")]
    Semantics(u32),
    /// Its parts cannot be had.
    #[error("its parts cannot be read by the candidate: {0}")]
    Parts(String),
    /// The candidate refuses readings: their names.
    #[error("the candidate refuses `{}`", .0.join("`, `"))]
    Readings(Vec<String>),
    /// It cannot be read.
    #[error("its body is of a form that is not known")]
    Damaged,
}

/// Evaluates the recommendation of a body by a candidate, with the parts that it was made with.
pub fn replay(evaluator: &Evaluator<'_>, parts: &Parts, body: &[u8]) -> Replayed {
    let Some(content) = content_of_bytes(body) else {
        return Replayed::NotComparable(NotComparable::Damaged);
    };
    let Some(past) = Past::of_content(&content) else {
        return Replayed::NotComparable(NotComparable::Damaged);
    };
    let Some(day) = past.day() else {
        return Replayed::NotComparable(NotComparable::Damaged);
    };
    let player = match intake::read_player(evaluator.program(), &past.player) {
        Ok(player) => player,
        Err(faults) => {
            let mut fields: Vec<String> = faults.into_iter().map(|fault| fault.field).collect();
            fields.sort_unstable();
            fields.dedup();
            return Replayed::NotComparable(NotComparable::Readings(fields));
        }
    };
    let briefing = Briefing::of(evaluator, parts, &player, day);
    let briefs = briefing.briefs();
    match changed(&past, &briefs, || briefing.reports()) {
        Some(changed) if changed.is_empty() => Replayed::Same,
        Some(changed) => Replayed::Changed(changed),
        None => Replayed::NotComparable(NotComparable::Damaged),
    }
}

#[cfg(test)]
mod tests;
