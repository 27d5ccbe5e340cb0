//! The proof of `never falls along the bag`.
//!
//! Three forms can be proved. A progression whose later clubs take `previous`, moved, raised or
//! lowered by a constant, or constants in order. A decision whose expression looks at no club: it
//! is the same for all. A decision by rows that never falls as the key of its own order rises, all
//! other columns being the same for every club.

use super::promise::{CounterExample, PromiseProof, prove_promise};
use crate::check::children;
use crate::program::{
    Arithmetic, Body, Decision, Expression, ExpressionKind, Gives, Member, NextStep, Order,
    Program, Progression, Promise, PromiseAgainst, RowResult, Step, Table, Value,
};
use crate::quantity::Rational;
use crate::syntax::Span;

/// What the proof along the bag comes to.
#[derive(Clone, Debug)]
pub enum AlongProof {
    /// It holds for every player.
    Proved,
    /// This line breaks it: what is wrong, and where.
    Broken(String, Span),
    /// Two clubs that differ in the key of the order alone break it.
    BrokenByRows(Box<CounterExample>),
    /// The proof cannot be made: why, and where that stands.
    NotProvable(String, Option<Span>),
}

/// Proves that a decision never falls (or rises) along the bag.
pub fn prove_along(program: &Program, decision: &Decision, promise: &Promise) -> AlongProof {
    let by_steps = || steps_keep_order(program, &decision.steps);
    match &decision.body {
        Body::Progression(progression) => match by_steps() {
            Some(refused) => refused,
            None => along_progression(program, progression, promise),
        },
        Body::Gives(gives) if !looks_at_a_club(&gives.value) => {
            let order = order_of(decision);
            match (by_steps(), order) {
                (Some(_), Some(order)) => by_key(program, decision, promise, order),
                (Some(refused), None) => refused,
                (None, _) => AlongProof::Proved,
            }
        }
        Body::Gives(gives) => AlongProof::NotProvable(
            "this looks at the club at hand".to_owned(),
            Some(gives.value.span),
        ),
        Body::Table(_) => match order_of(decision) {
            Some(order) => by_key(program, decision, promise, order),
            None => AlongProof::NotProvable(
                format!("`{}` names no order along the bag", decision.name),
                None,
            ),
        },
    }
}

fn order_of(decision: &Decision) -> Option<&Order> {
    decision.for_each.as_ref()?.order.as_ref()
}

/// Whether an expression may differ from club to club.
fn looks_at_a_club(expression: &Expression) -> bool {
    let is_club = |member: Member| !matches!(member, Member::Only | Member::First | Member::Last);
    match &expression.kind {
        ExpressionKind::Let(_, member)
        | ExpressionKind::Decision(_, member)
        | ExpressionKind::Field { member, .. }
        | ExpressionKind::Chosen { member, .. } => is_club(*member),
        ExpressionKind::PreviousValue => true,
        _ => children(expression).into_iter().any(looks_at_a_club),
    }
}

/// A promise by rows: the key of the order rises (or falls) from club to club.
fn by_key(program: &Program, decision: &Decision, promise: &Promise, order: &Order) -> AlongProof {
    for table in decision.tables() {
        for column in &table.columns {
            let is_key = column.text == order.text;
            let is_special =
                column.takes_none || column.takes_unknown || table.if_unknown.is_some();
            if is_key && is_special {
                let why = format!(
                    "clubs whose `{}` is not known come last, and have a value too",
                    order.text
                );
                return AlongProof::NotProvable(why, Some(column.value.span));
            }
            if !is_key && looks_at_a_club(&column.value) {
                let why = format!("`{}` may differ from club to club", column.text);
                return AlongProof::NotProvable(why, Some(column.value.span));
            }
        }
    }
    let as_key = Promise {
        against: PromiseAgainst::As {
            what: Box::new(order.key.clone()),
            text: order.text.clone(),
            shown: crate::program::Shown::default(),
            rises: !order.largest_first,
        },
        ..promise.clone()
    };
    match prove_promise(program, decision, &as_key, &order.key) {
        PromiseProof::Proved => AlongProof::Proved,
        PromiseProof::Broken(found) => AlongProof::BrokenByRows(found),
        PromiseProof::NotProvable(why, span) => AlongProof::NotProvable(why, span),
    }
}

/// Steps after a progression keep what it promises where each is the same for every club and
/// leaves a value that it has made once as it is: clamps to constants, then at most one rounding.
fn steps_keep_order(program: &Program, steps: &[Step]) -> Option<AlongProof> {
    let mut is_rounded = false;
    for step in steps {
        let (is_kept, span) = match step {
            Step::Table(table) => (false, table.span),
            Step::KeptWithin { low, high, .. } => {
                let constants = low.constant(program).zip(high.constant(program));
                (constants.is_some() && !is_rounded, low.span)
            }
            Step::Rounded { to, .. } => {
                let is_first = !std::mem::replace(&mut is_rounded, true);
                (to.constant(program).is_some() && is_first, to.span)
            }
            Step::OrIfUnknown { instead, .. } => (false, instead.span),
        };
        if !is_kept {
            return Some(AlongProof::NotProvable(
                "what comes after the first value is not followed along the bag".to_owned(),
                Some(span),
            ));
        }
    }
    None
}

/// What a club takes, seen from the club before.
enum Taken {
    /// The value before, changed by this much (half steps on a scale).
    Changed(Rational),
    /// This value.
    Constant(Value),
}

fn along_progression(
    program: &Program,
    progression: &Progression,
    promise: &Promise,
) -> AlongProof {
    if let Some(kept) = &progression.kept {
        return AlongProof::NotProvable(
            "a club that he keeps has a value of its own".to_owned(),
            Some(kept.value.span),
        );
    }
    let first = progression.first.value.constant(program);
    let mut before = first;
    let later = [
        match &progression.next {
            Some(NextStep::Gives(gives)) => Some(gives),
            _ => None,
        },
        progression.last.as_ref(),
    ];
    if let Some(NextStep::Table(table)) = &progression.next {
        let refused = rows_along(program, table, promise);
        if !matches!(refused, AlongProof::Proved) {
            return refused;
        }
        before = None;
    }
    for gives in later.into_iter().flatten() {
        let Some(taken) = taken(program, &gives.value) else {
            return not_followed(gives);
        };
        match (&taken, &before) {
            (Taken::Changed(change), _) if !allows_change(promise, *change) => {
                return broken(promise, gives.value.span);
            }
            (Taken::Changed(_), _) => before = None,
            (Taken::Constant(value), Some(known)) => {
                if !promise.allows(known, value) {
                    return broken(promise, gives.value.span);
                }
                before = Some(value.clone());
            }
            (Taken::Constant(_), None) => return not_followed(gives),
        }
    }
    AlongProof::Proved
}

fn not_followed(gives: &Gives) -> AlongProof {
    AlongProof::NotProvable(
        "this is neither `previous`, changed by a constant, nor constants in order".to_owned(),
        Some(gives.value.span),
    )
}

fn broken(promise: &Promise, span: Span) -> AlongProof {
    let word = if promise.never_falls {
        "falls"
    } else {
        "rises"
    };
    AlongProof::Broken(format!("here it {word}"), span)
}

/// Whether the value may go on like this from club to club.
fn allows_change(promise: &Promise, change: Rational) -> bool {
    promise.allows(&Value::Number(Rational::ZERO), &Value::Number(change))
}

/// Rows for every later club.
fn rows_along(program: &Program, table: &Table, promise: &Promise) -> AlongProof {
    let results = table.rows.iter().map(|row| (&row.result, row.span));
    let if_unknown = table.if_unknown.iter().map(|result| (result, table.span));
    for (result, span) in results.chain(if_unknown) {
        let change = match result {
            RowResult::Keeps | RowResult::CannotHappen => Some(Rational::ZERO),
            RowResult::Moves(half_steps) => Some(Rational::whole(i64::from(*half_steps))),
            RowResult::Adds(by) => by.constant(program).and_then(|value| value.number()),
            RowResult::TakesOff(by) => by
                .constant(program)
                .and_then(|value| value.number())
                .map(Rational::negated),
            RowResult::Gives(value) => match taken(program, value) {
                Some(Taken::Changed(change)) => Some(change),
                _ => None,
            },
        };
        match change {
            None => {
                return AlongProof::NotProvable(
                    "this is not `previous`, changed by a constant".to_owned(),
                    Some(span),
                );
            }
            Some(change) if !allows_change(promise, change) => return broken(promise, span),
            Some(_) => {}
        }
    }
    AlongProof::Proved
}

fn taken(program: &Program, value: &Expression) -> Option<Taken> {
    if let Some(value) = value.constant(program) {
        return Some(Taken::Constant(value));
    }
    match &value.kind {
        ExpressionKind::PreviousValue => Some(Taken::Changed(Rational::ZERO)),
        ExpressionKind::Moved(inner, half_steps) => match taken(program, inner)? {
            Taken::Changed(change) if change.is_zero() => {
                Some(Taken::Changed(Rational::whole(i64::from(*half_steps))))
            }
            _ => None,
        },
        ExpressionKind::Arithmetic(operator, left, right) => {
            let (Taken::Changed(before), Taken::Constant(Value::Number(by))) =
                (taken(program, left)?, taken(program, right)?)
            else {
                return None;
            };
            let change = match operator {
                Arithmetic::Plus => before.plus(by),
                Arithmetic::Minus => before.minus(by),
                Arithmetic::Times | Arithmetic::Over => return None,
            };
            change.ok().map(Taken::Changed)
        }
        _ => None,
    }
}
