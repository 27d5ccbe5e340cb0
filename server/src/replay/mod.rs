//! Past recommendations evaluated again by another revision: which decisions come to something
//! else, and by which rows.
//!
//! A recommendation is evaluated with the parts that were recorded with it and on its day, so that
//! what differs is the rules' doing. Most stay the same, and of a body of these only the head is
//! looked at: the readings, and a digest of what the decisions came to (`digest`), which is told
//! once for all that come to the same. Of the others
//! only what is compared is looked at ([`past`]), and reasons are rendered for those alone that
//! change ([`compared`]). Nothing here reads a store or a clock.

pub mod compared;
pub(crate) mod digest;
pub mod past;
pub mod summary;

use loftwright_dsl::quantity::Date;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::explain::Briefings;
use loftwright_engine::intake::PlayerReader;
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;

use self::compared::{ChangedDecision, changed};
use self::digest::ComparedDigest;
use crate::audit::columns::{KnownTexts, of_columns};
use crate::audit::encoding::Borrowed;
use crate::audit::merkle::Hash;
use crate::rpc::convert::body::BodyHead;

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
    /// The rules that decided, whose texts its body refers to, cannot be had.
    #[error("the rules that decided cannot be read, whose texts it refers to: {0}")]
    Rules(String),
    /// It cannot be read.
    #[error("its body is of a form that is not known")]
    Damaged,
}

/// Replays by a candidate of recommendations that were made with the same parts.
///
/// What one comes to is remembered for the others: each comes to what it would by itself.
pub struct Replays<'a> {
    reader: PlayerReader<'a>,
    briefings: Briefings<'a, Hash>,
}

impl<'a> Replays<'a> {
    /// None replayed yet.
    pub fn new(candidate: &'a Evaluator<'a>, parts: Parts) -> Self {
        Replays {
            reader: PlayerReader::new(candidate.program()),
            briefings: Briefings::new(candidate, parts, ComparedDigest::of_briefs),
        }
    }

    /// Evaluates the recommendation of a body; `known` are the texts of the rules that decided.
    pub fn replay(&mut self, body: &[u8], known: &KnownTexts) -> Replayed {
        let head = BodyHead::of_bytes(body);
        let outcome = head.and_then(|head| self.of_head(head, known));
        outcome.unwrap_or(Replayed::NotComparable(NotComparable::Damaged))
    }

    /// `None` where the body is of another form.
    fn of_head(&mut self, head: BodyHead<'_>, known: &KnownTexts) -> Option<Replayed> {
        let day = Date::parse(head.made_on)?;
        let player = match self.player(&head.request(known)?)? {
            Ok(player) => player,
            Err(why) => return Some(Replayed::NotComparable(why)),
        };
        if self.briefings.told(&player, day) == head.compared {
            return Some(Replayed::Same);
        }
        let briefing = self.briefings.from_the_start(&player, day);
        let content = head.content()?;
        let recommendation = of_columns(&content, known).ok()?;
        let decisions = past::decisions(&recommendation)?;
        let changed = changed(&decisions, &briefing.briefs(), || briefing.reports())?;
        // Decisions in another order come to the same.
        Some(match changed.is_empty() {
            true => Replayed::Same,
            false => Replayed::Changed(changed),
        })
    }

    /// The player of a recorded request; `None` where it is of another form.
    fn player(&mut self, request: &Borrowed<'_>) -> Option<Result<Player, NotComparable>> {
        // Most bring no clubs, and nothing is wrong with their readings.
        let readings = past::readings(request);
        let player = readings.and_then(|readings| self.reader.read_plain(&readings));
        if let Some(player) = player {
            return Some(Ok(player));
        }
        let player = self.reader.read(&past::player(request)?);
        Some(player.map_err(|faults| {
            let mut fields: Vec<String> = faults.into_iter().map(|fault| fault.field).collect();
            fields.sort_unstable();
            fields.dedup();
            NotComparable::Readings(fields)
        }))
    }
}

#[cfg(test)]
mod tests;
