//! How outcomes become states and states outcomes, and how causes are merged.
//!
//! Readings and lets are transparent: what rests on one that is not decided has the same causes and
//! nothing between. Everything else stands between as the one that blocks, the nearest one only.

use std::collections::BTreeSet;

use loftwright_dsl::program::{Node, Value};
use loftwright_dsl::quantity::ArithmeticFault;

use crate::outcome::{Cause, Fault, Outcome, OutsideRange, Place, State, Undecided};

/// What ends a node at once, whatever else stands in it.
#[derive(Clone, Debug)]
pub(crate) enum Ended {
    /// A `cannot happen` row, or no row at all.
    Contradicted {
        /// The table's number in the decision.
        table: usize,
        /// The row's number.
        row: usize,
    },
    /// A model beyond its range.
    OutsideRange(Box<OutsideRange>),
    /// Arithmetic without an answer, or the step budget.
    Faulted(Fault),
}

/// A state, or what ends the node.
pub(crate) type Answer = Result<State, Ended>;

impl From<ArithmeticFault> for Ended {
    fn from(fault: ArithmeticFault) -> Self {
        Ended::Faulted(Fault::Arithmetic(fault))
    }
}

impl Ended {
    /// A value of another type than the checker promised; a checked program does not come here.
    pub(crate) fn not_checked() -> Self {
        ArithmeticFault::Overflow.into()
    }
}

impl From<Ended> for Outcome {
    fn from(ended: Ended) -> Self {
        match ended {
            Ended::Contradicted { table, row } => Outcome::Contradicted { table, row },
            Ended::OutsideRange(beyond) => Outcome::OutsideRange(beyond),
            Ended::Faulted(fault) => Outcome::Faulted(fault),
        }
    }
}

/// What a node comes to whose own value has this state.
pub(crate) fn outcome_of(state: State) -> Outcome {
    match state {
        State::Known(value) => Outcome::Decided(value),
        State::None => Outcome::DoesNotApply,
        State::Undecided(undecided) if undecided.blocked_by.is_empty() => {
            Outcome::Needs(undecided.causes)
        }
        State::Undecided(undecided) => Outcome::Blocked(undecided),
    }
}

/// What a node comes to.
pub(crate) fn outcome_of_answer(answer: Answer) -> Outcome {
    answer.map_or_else(Outcome::from, outcome_of)
}

/// The state of an outcome as another node sees it.
pub(crate) fn seen_from_outside(place: Place, outcome: &Outcome) -> State {
    match outcome {
        Outcome::Decided(value) => State::Known(value.clone()),
        Outcome::DoesNotApply => State::None,
        Outcome::Needs(causes) if is_transparent(place.node) => missing(causes.clone()),
        Outcome::Blocked(undecided) if is_transparent(place.node) => {
            State::Undecided(undecided.clone())
        }
        outcome => State::Undecided(blocked_by(place, outcome)),
    }
}

/// What rests on a place that is not decided, where the place itself stands between.
pub(crate) fn blocked_by(place: Place, outcome: &Outcome) -> Box<Undecided> {
    let causes = match outcome {
        Outcome::Needs(causes) => causes.clone(),
        Outcome::Blocked(undecided) => undecided.causes.clone(),
        _ => BTreeSet::from([Cause::Ended(place)]),
    };
    Box::new(Undecided {
        blocked_by: BTreeSet::from([place]),
        causes,
    })
}

/// Undecided for one cause, blocked by one place.
pub(crate) fn undecided_for(place: Place, cause: Cause) -> Box<Undecided> {
    Box::new(Undecided {
        blocked_by: BTreeSet::from([place]),
        causes: BTreeSet::from([cause]),
    })
}

/// Undecided for something that is not known; nothing blocks.
pub(crate) fn not_known(cause: Cause) -> State {
    missing(BTreeSet::from([cause]))
}

fn missing(causes: BTreeSet<Cause>) -> State {
    State::Undecided(Box::new(Undecided {
        blocked_by: BTreeSet::new(),
        causes,
    }))
}

fn is_transparent(node: Node) -> bool {
    matches!(node, Node::Input(_) | Node::Let(_))
}

/// Both together.
pub(crate) fn merge(into: &mut Undecided, other: Undecided) {
    into.blocked_by.extend(other.blocked_by);
    into.causes.extend(other.causes);
}

/// Both values, or the state that the operands make together.
pub(crate) fn both(left: State, right: State) -> Result<(Value, Value), State> {
    match (left, right) {
        (State::Known(left), State::Known(right)) => Ok((left, right)),
        (left, right) => Err(not_all_known([left, right])),
    }
}

/// Three values, or the state that the operands make together.
pub(crate) fn all_three(
    first: State,
    second: State,
    third: State,
) -> Result<(Value, Value, Value), State> {
    match (first, second, third) {
        (State::Known(first), State::Known(second), State::Known(third)) => {
            Ok((first, second, third))
        }
        (first, second, third) => Err(not_all_known([first, second, third])),
    }
}

/// The state that operands make together of which one at least is not known: none before undecided.
pub(crate) fn not_all_known(operands: impl IntoIterator<Item = State>) -> State {
    let mut together: Option<Box<Undecided>> = None;
    for operand in operands {
        match (operand, &mut together) {
            (State::Known(_), _) => {}
            (State::None, _) => return State::None,
            (State::Undecided(more), Some(undecided)) => merge(undecided, *more),
            (State::Undecided(first), together) => *together = Some(first),
        }
    }
    together.map_or(State::None, State::Undecided)
}

/// A flag as a state.
pub(crate) fn flag(flag: bool) -> State {
    State::Known(Value::Flag(flag))
}

/// The number of a value that the checker promised to be one.
pub(crate) fn number(value: &Value) -> Result<loftwright_dsl::quantity::Rational, Ended> {
    value.number().ok_or_else(Ended::not_checked)
}
