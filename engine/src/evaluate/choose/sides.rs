//! The ruleset's side of a line: all that does not speak of the candidate.

use loftwright_dsl::program::{Aggregate, CandidateValue, Expression, ExpressionKind, Over, Value};

use crate::evaluate::algebra::{Ended, merge};
use crate::evaluate::expression::{Asker, At};
use crate::outcome::{State, Undecided};
use crate::trace::TraceSink;

/// What stands open on the ruleset's side of a line.
#[derive(Clone, Debug, Default)]
pub(super) struct OpenSide {
    /// Whether something of it does not apply.
    pub(super) is_none: bool,
    /// What of it is not decided.
    pub(super) undecided: Option<Undecided>,
}

impl OpenSide {
    pub(super) fn add(&mut self, state: State) {
        match state {
            State::Known(_) => {}
            State::None => self.is_none = true,
            State::Undecided(undecided) => {
                merge(self.undecided.get_or_insert_default(), undecided);
            }
        }
    }

    pub(super) fn is_settled(&self) -> bool {
        !self.is_none && self.undecided.is_none()
    }
}

impl<S: TraceSink> Asker<'_, S> {
    /// Looks at the ruleset's side of an expression. What may not be looked at at all (a branch
    /// that is not taken, the other side of an `or`) is left to the candidates.
    pub(super) fn ruleset_side(
        &mut self,
        expression: &Expression,
        at: At<'_>,
        open: &mut OpenSide,
    ) -> Result<(), Ended> {
        if !speaks_of_candidate(expression) {
            if !matches!(expression.kind, ExpressionKind::Constant(_)) {
                open.add(self.ask(expression, at)?);
            }
            return Ok(());
        }
        match &expression.kind {
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } if !speaks_of_candidate(condition) => match self.ask(condition, at)? {
                State::Known(Value::Flag(true)) => self.ruleset_side(then, at, open),
                State::Known(_) => self.ruleset_side(otherwise, at, open),
                state => {
                    open.add(state);
                    Ok(())
                }
            },
            // These do not look at all that stands in them, or make something of what is missing.
            ExpressionKind::If { .. }
            | ExpressionKind::And(..)
            | ExpressionKind::Or(..)
            | ExpressionKind::OrIfUnknown { .. }
            | ExpressionKind::IsKnown { .. }
            | ExpressionKind::IsNone { .. }
            | ExpressionKind::Aggregate(_) => Ok(()),
            _ => operands(expression)
                .into_iter()
                .flatten()
                .try_for_each(|operand| self.ruleset_side(operand, at, open))
                .and_then(|()| match &expression.kind {
                    ExpressionKind::Model(_, arguments) => arguments
                        .iter()
                        .try_for_each(|argument| self.ruleset_side(argument, at, open)),
                    _ => Ok(()),
                }),
        }
    }
}

/// Whether an expression speaks of the candidate at hand.
pub(super) fn speaks_of_candidate(expression: &Expression) -> bool {
    has(expression, &|kind| {
        matches!(kind, ExpressionKind::Candidate(_))
    })
}

/// How many of the candidate's lets an expression needs: it may speak of any of the first so many.
pub(super) fn lets_needed(expression: &Expression) -> usize {
    let needed = std::cell::Cell::new(0);
    has(expression, &|kind| {
        if let ExpressionKind::Candidate(CandidateValue::Let(index)) = kind {
            needed.set(needed.get().max(index + 1));
        }
        false
    });
    needed.get()
}

/// Whether something in an expression is of this kind. Inside an aggregate over parts the candidate
/// at hand is another one.
fn has(expression: &Expression, wanted: &impl Fn(&ExpressionKind) -> bool) -> bool {
    if wanted(&expression.kind) {
        return true;
    }
    match &expression.kind {
        ExpressionKind::Model(_, arguments) => {
            arguments.iter().any(|argument| has(argument, wanted))
        }
        ExpressionKind::Aggregate(aggregate) => match aggregate.as_ref() {
            Aggregate::NumberOf(Over::Group(_), Some(value))
            | Aggregate::ExtremeOf(_, Over::Group(_), value)
            | Aggregate::TotalOf(Over::Group(_), value)
            | Aggregate::AnyWhere(Over::Group(_), value) => has(value, wanted),
            _ => false,
        },
        _ => operands(expression)
            .into_iter()
            .flatten()
            .any(|operand| has(operand, wanted)),
    }
}

/// The operands of an operator, at most three.
fn operands(expression: &Expression) -> [Option<&Expression>; 3] {
    match &expression.kind {
        ExpressionKind::Negative(value)
        | ExpressionKind::Not(value)
        | ExpressionKind::IsNone { value, .. }
        | ExpressionKind::IsKnown { value, .. }
        | ExpressionKind::IsOneOf { value, .. }
        | ExpressionKind::SizeOf(value)
        | ExpressionKind::Moved(value, _) => [Some(value.as_ref()), None, None],
        ExpressionKind::Arithmetic(_, left, right)
        | ExpressionKind::And(left, right)
        | ExpressionKind::Or(left, right)
        | ExpressionKind::Is { left, right, .. }
        | ExpressionKind::Order { left, right, .. }
        | ExpressionKind::Extreme(_, left, right)
        | ExpressionKind::Rounded {
            value: left,
            to: right,
            ..
        }
        | ExpressionKind::OrIfUnknown {
            value: left,
            instead: right,
        } => [Some(left.as_ref()), Some(right.as_ref()), None],
        ExpressionKind::Within {
            subject,
            tolerance,
            of,
        } => [
            Some(subject.as_ref()),
            Some(tolerance.as_ref()),
            Some(of.as_ref()),
        ],
        ExpressionKind::If {
            condition,
            then,
            otherwise,
        } => [
            Some(condition.as_ref()),
            Some(then.as_ref()),
            Some(otherwise.as_ref()),
        ],
        ExpressionKind::KeptWithin { value, low, high } => [
            Some(value.as_ref()),
            Some(low.as_ref()),
            Some(high.as_ref()),
        ],
        _ => [None, None, None],
    }
}
