//! What of the candidate an expression speaks of: which of its lets, so that no others are
//! computed, and whether anything at all.

use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;

use loftwright_dsl::program::{
    Aggregate, CandidateValue, Choose, Expression, ExpressionKind, Over, RungKind,
};

/// How many of the candidate's lets an expression needs: it may speak of any of the first so many.
pub(super) fn lets_needed(expression: &Expression) -> usize {
    let needed = Cell::new(0);
    has(expression, &|kind| {
        if let ExpressionKind::Candidate(CandidateValue::Let(index)) = kind {
            needed.set(needed.get().max(index + 1));
        }
        false
    });
    needed.get()
}

/// Whether an expression speaks of the candidate at hand; one that does not is the same for all.
pub(super) fn speaks_of_the_candidate(expression: &Expression) -> bool {
    has(expression, &|kind| {
        matches!(kind, ExpressionKind::Candidate(_))
    })
}

/// The fields of the part that an expression speaks of, through its lets too; `None` where it
/// speaks of a setting.
pub(super) fn fields_spoken_of(
    choose: &Choose,
    expression: &Expression,
) -> Option<BTreeSet<usize>> {
    let fields = RefCell::new(BTreeSet::new());
    let of_a_setting = has(expression, &|kind| match kind {
        ExpressionKind::Candidate(CandidateValue::Field(field)) => {
            fields.borrow_mut().insert(*field);
            false
        }
        ExpressionKind::Candidate(CandidateValue::Let(index)) => {
            let computed = choose.lets.get(*index);
            match computed.and_then(|computed| fields_spoken_of(choose, &computed.value)) {
                Some(more) => {
                    fields.borrow_mut().extend(more);
                    false
                }
                None => true,
            }
        }
        ExpressionKind::Candidate(CandidateValue::Setting(_)) => true,
        _ => false,
    });
    (!of_a_setting).then(|| fields.into_inner())
}

/// The fields of the part that a choice looks at to tell what meets its needs, and what its clubs
/// agree on.
pub(crate) fn fields_looked_at(choose: &Choose) -> BTreeSet<usize> {
    let of_rungs = choose.rungs.iter().filter_map(|rung| match &rung.kind {
        RungKind::Needs { needs, .. } => Some(needs.as_ref()),
        RungKind::Orders | RungKind::LeavesOpen => None,
    });
    let lines = choose.needs.iter().chain(of_rungs);
    let lines = lines.flat_map(|needs| [Some(&needs.condition), needs.when.as_ref()]);
    let lets = choose.lets.iter().map(|computed| Some(&computed.value));
    let agreed: BTreeSet<usize> = choose.agrees_on.iter().map(|on| on.field).collect();
    let fields = RefCell::new(agreed);
    for expression in lines.chain(lets).flatten() {
        has(expression, &|kind| {
            if let ExpressionKind::Candidate(CandidateValue::Field(field)) = kind {
                fields.borrow_mut().insert(*field);
            }
            false
        });
    }
    fields.into_inner()
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
        | ExpressionKind::Includes {
            list: left,
            value: right,
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
