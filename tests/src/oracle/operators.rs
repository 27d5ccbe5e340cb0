//! Operators on states: `none` if any operand is none, else undecided with the causes of all, else
//! computed.

use std::cmp::Ordering;

use loftwright_dsl::quantity::{ArithmeticFault, Rational};
use loftwright_dsl::syntax::tree::{BinaryOperator, Extreme, Relation};

use super::person::halves;
use super::{Outcome, State, Undecided, Value};

/// What an expression comes to: a state, or the end of the node (faulted, outside range).
pub type Answer = Result<State, Outcome>;

/// The known values of all operands, or the state that they make together.
pub fn all_known(operands: &[State]) -> Result<Vec<Value>, State> {
    if operands.contains(&State::None) {
        return Err(State::None);
    }
    let mut merged = Undecided::default();
    let mut values = Vec::new();
    for operand in operands {
        match operand {
            State::Known(value) => values.push(value.clone()),
            State::Undecided(undecided) => merged.merge(undecided),
            State::None => {}
        }
    }
    if values.len() == operands.len() {
        Ok(values)
    } else {
        Err(State::Undecided(merged))
    }
}

/// A value as a number of its own line: scales in whole steps.
pub fn number(value: &Value) -> Rational {
    match value {
        Value::Number(number) => *number,
        Value::Date(days) => Rational::whole(*days),
        Value::Word { place, .. } => halves(i64::from(*place)),
        other => panic!("{other} is no number"),
    }
}

pub fn fault(_: ArithmeticFault) -> Outcome {
    Outcome::Faulted
}

/// `+ - * /` on known values. Dates differ by a time, in seconds.
pub fn arithmetic(operator: BinaryOperator, left: &Value, right: &Value) -> Result<Value, Outcome> {
    let day = Rational::whole(86_400);
    if let (Value::Date(left), Value::Date(right)) = (left, right) {
        let days = Rational::whole(left - right);
        return Ok(Value::Number(days.times(day).map_err(fault)?));
    }
    if let (Value::Date(date), Value::Number(time)) = (left, right) {
        let days = time.over(day).map_err(fault)?.to_whole().unwrap();
        let days = if operator == BinaryOperator::Plus {
            days
        } else {
            -days
        };
        return Ok(Value::Date(date + days));
    }
    let (left, right) = (number(left), number(right));
    let result = match operator {
        BinaryOperator::Plus => left.plus(right),
        BinaryOperator::Minus => left.minus(right),
        BinaryOperator::Times => left.times(right),
        BinaryOperator::Over => left.over(right),
        BinaryOperator::And | BinaryOperator::Or => panic!("no arithmetic"),
    };
    result.map(Value::Number).map_err(fault)
}

/// `a and b`: no if either is known to be no; else none if either is none; else undecided if either
/// is; else yes. `a or b` is its mirror.
pub fn logic(operator: BinaryOperator, left: &State, right: &State) -> State {
    let settling = operator == BinaryOperator::Or;
    if left.flag() == Some(settling) || right.flag() == Some(settling) {
        return State::Known(Value::Flag(settling));
    }
    match all_known(&[left.clone(), right.clone()]) {
        Ok(_) => State::Known(Value::Flag(!settling)),
        Err(state) => state,
    }
}

/// Whether two values are the same.
pub fn same(left: &Value, right: &Value) -> bool {
    match (left, right) {
        (Value::Word { place: left, .. }, Value::Word { place: right, .. }) => left == right,
        _ => left == right,
    }
}

/// `under`, `over`, `at most`, `at least`.
pub fn holds(relation: Relation, value: &Value, bound: &Value) -> bool {
    let order = number(value).cmp(&number(bound));
    match relation {
        Relation::Under => order == Ordering::Less,
        Relation::Over => order == Ordering::Greater,
        Relation::AtMost => order != Ordering::Greater,
        Relation::AtLeast => order != Ordering::Less,
    }
}

/// The larger or smaller of two values.
pub fn extreme(which: Extreme, left: Value, right: Value) -> Value {
    let left_is_larger = number(&left) >= number(&right);
    if left_is_larger == (which == Extreme::Larger) {
        left
    } else {
        right
    }
}
