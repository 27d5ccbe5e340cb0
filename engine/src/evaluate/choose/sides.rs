//! The ruleset's side of a line: what it comes to for a candidate of which nothing is known.
//!
//! Whatever is still not decided then, besides what is the candidate's own, is the ruleset's. Lets
//! of the choice are the candidate's: what they rest on shows with the candidates.

use loftwright_dsl::program::{CandidateValue, Expression, ExpressionKind, Value};

use super::candidate::is_own_field;
use crate::evaluate::algebra::{Ended, merge};
use crate::evaluate::expression::{Asker, At};
use crate::outcome::{Cause, State, Undecided};
use crate::trace::TraceSink;

/// What an expression comes to for a candidate of which nothing is known.
pub(super) enum Side {
    /// A value, whatever the candidate.
    Known(Value),
    /// It does not apply, whatever the candidate.
    None,
    /// It rests on the candidate alone.
    OfCandidate,
    /// Something on the ruleset's side is not decided.
    Open(Box<Undecided>),
}

/// What stands open on the ruleset's side of several expressions.
#[derive(Clone, Debug, Default)]
pub(super) struct OpenSide {
    /// Whether something does not apply.
    pub(super) is_none: bool,
    /// What is not decided.
    pub(super) undecided: Option<Box<Undecided>>,
}

impl OpenSide {
    pub(super) fn add(&mut self, side: Side) {
        match side {
            Side::Known(_) | Side::OfCandidate => {}
            Side::None => self.is_none = true,
            Side::Open(undecided) => merge(self.undecided.get_or_insert_default(), *undecided),
        }
    }
}

impl<S: TraceSink> Asker<'_, S> {
    /// The ruleset's side of an expression; `at` has the candidate of which nothing is known.
    pub(super) fn ruleset_side(
        &mut self,
        expression: &Expression,
        at: At<'_>,
    ) -> Result<Side, Ended> {
        if let ExpressionKind::Candidate(CandidateValue::Field(_) | CandidateValue::Let(_)) =
            expression.kind
        {
            // Nothing is known of nobody.
            return Ok(Side::OfCandidate);
        }
        Ok(match self.ask(expression, at)? {
            State::Known(value) => Side::Known(value),
            State::None => Side::None,
            State::Undecided(undecided) => self
                .rulesets_own(undecided)
                .map_or(Side::OfCandidate, Side::Open),
        })
    }

    /// What is left of what is missing without the candidate's own; nothing where it is all its
    /// own.
    pub(super) fn rulesets_own(&self, mut undecided: Box<Undecided>) -> Option<Box<Undecided>> {
        // A value of the candidate that has no answer is not known of it.
        let no_answer = Cause::Ended(self.place);
        undecided
            .causes
            .retain(|cause| *cause != no_answer && !is_own_field(cause));
        undecided.blocked_by.remove(&self.place);
        let is_left = !undecided.causes.is_empty() || !undecided.blocked_by.is_empty();
        is_left.then_some(undecided)
    }
}
