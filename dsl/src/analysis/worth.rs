//! What a decision is worth where it is known which row of each of its tables decides.
//!
//! Rows that give constants come to a value: the first table's, changed by those after it, moves
//! summed and stopped once, then clamped and rounded. What rests on anything else stays a formula:
//! two formulas are equal where the same expressions are computed in the same way.

use super::joint::Deciding;
use crate::digest::of_expression;
use crate::program::{
    Body, Decision, Expression, NextStep, Program, RowResult, Step, Table, Type, Value,
};
use crate::syntax::Span;

/// What a decision is worth.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Worth {
    /// A value.
    Value(Value),
    /// An expression of other values: how it reads, canonically, and where it stands.
    Formula(Formula),
    /// It does not apply.
    DoesNotApply,
    /// It needs readings.
    Undecided,
    /// The readings contradict each other, or no row is there.
    Contradicted,
}

/// A value that rests on more than constants.
#[derive(Clone, Debug)]
pub struct Formula {
    /// Equal for formulas that are computed alike.
    key: String,
    /// The first expression in it that is not a constant.
    pub span: Span,
}

impl PartialEq for Formula {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

impl Eq for Formula {}

/// What a decision comes to where its tables, in the order of [`Decision::tables`], come to this.
/// Of a progression it is what every later club takes.
pub fn worth(program: &Program, decision: &Decision, deciding: &[Deciding]) -> Worth {
    let mut walk = Walk {
        program,
        decision,
        worth: Worth::Undecided,
        moves: None,
        needs: false,
        deciding: deciding.iter(),
    };
    match &decision.body {
        Body::Table(table) => walk.table(table, true),
        Body::Gives(gives) => walk.worth = walk.of_expression("gives", &gives.value),
        Body::Progression(progression) => match &progression.next {
            Some(NextStep::Gives(gives)) => walk.worth = walk.of_expression("gives", &gives.value),
            Some(NextStep::Table(table)) => {
                walk.worth = Worth::Formula(Formula {
                    key: "previous".to_owned(),
                    span: table.span,
                });
                walk.table(table, true);
            }
            None => walk.worth = Worth::DoesNotApply,
        },
    }
    for step in &decision.steps {
        if let Step::Table(table) = step {
            walk.table(table, false);
        }
    }
    walk.finish_moves();
    for step in &decision.steps {
        walk.post(step);
    }
    walk.worth
}

struct Walk<'w> {
    program: &'w Program,
    decision: &'w Decision,
    worth: Worth,
    moves: Option<i32>,
    needs: bool,
    deciding: std::slice::Iter<'w, Deciding>,
}

impl Walk<'_> {
    fn of_expression(&self, form: &str, expression: &Expression) -> Worth {
        match expression.constant(self.program) {
            Some(value) => Worth::Value(value),
            None => Worth::Formula(Formula {
                key: format!("{form} {}", of_expression(self.program, expression)),
                span: expression.span,
            }),
        }
    }

    fn table(&mut self, table: &Table, is_body: bool) {
        let Some(deciding) = self.deciding.next() else {
            return;
        };
        if matches!(self.worth, Worth::Contradicted | Worth::DoesNotApply) {
            return;
        }
        let result = match deciding {
            Deciding::Row(row) => table.rows.get(*row).map(|row| &row.result),
            Deciding::IfUnknown => table.if_unknown.as_ref(),
            // A later `gives` takes the place of a first value that is not decided; a later table
            // that is not decided leaves the decision so.
            Deciding::Undecided if is_body => {
                self.worth = Worth::Undecided;
                return;
            }
            Deciding::Undecided => {
                self.needs = true;
                return;
            }
            Deciding::NoRow => {
                self.worth = Worth::Contradicted;
                return;
            }
            Deciding::DoesNotApply => {
                self.worth = Worth::DoesNotApply;
                return;
            }
        };
        match result {
            None => {}
            Some(RowResult::Gives(value)) => self.worth = self.of_expression("gives", value),
            Some(RowResult::Moves(half_steps)) => {
                self.moves = Some(self.moves.unwrap_or(0).saturating_add(*half_steps));
            }
            Some(RowResult::Keeps) => {}
            Some(RowResult::Adds(value)) => self.changed("plus", value),
            Some(RowResult::TakesOff(value)) => self.changed("minus", value),
            Some(RowResult::CannotHappen) => self.worth = Worth::Contradicted,
        }
    }

    fn changed(&mut self, form: &str, by: &Expression) {
        let change = by.constant(self.program).and_then(|value| value.number());
        if let (Worth::Value(Value::Number(before)), Some(change)) = (&self.worth, change) {
            let after = if form == "plus" {
                before.plus(change)
            } else {
                before.minus(change)
            };
            if let Ok(after) = after {
                self.worth = Worth::Value(Value::Number(after));
                return;
            }
        }
        let digest = of_expression(self.program, by);
        self.formula(&format!("{form} {digest}"), by.span);
    }

    /// The worth so far with something more done to it that is not followed.
    fn formula(&mut self, done: &str, span: Span) {
        let (before, span) = match &self.worth {
            Worth::Value(value) => (format!("{value:?}"), span),
            Worth::Formula(formula) => (formula.key.clone(), formula.span),
            _ => return,
        };
        self.worth = Worth::Formula(Formula {
            key: format!("{before}, {done}"),
            span,
        });
    }

    fn finish_moves(&mut self) {
        if let Some(half_steps) = self.moves {
            match (&self.worth, self.decision.value_type) {
                (Worth::Value(Value::Word(word)), Type::Scale(scale)) => {
                    let highest = self.program.vocabularies[scale].highest().max(0);
                    let moved = word.saturating_add(half_steps).clamp(0, highest);
                    self.worth = Worth::Value(Value::Word(moved));
                }
                (Worth::Formula(formula), _) if half_steps != 0 => {
                    let span = formula.span;
                    self.formula(&format!("moved {half_steps}"), span);
                }
                _ => {}
            }
        }
        if self.needs && matches!(self.worth, Worth::Value(_) | Worth::Formula(_)) {
            self.worth = Worth::Undecided;
        }
    }

    fn post(&mut self, step: &Step) {
        match step {
            Step::Table(_) => {}
            Step::KeptWithin { low, high, .. } => {
                let constants = low.constant(self.program).zip(high.constant(self.program));
                if let (Worth::Value(value), Some((low, high))) = (&self.worth, constants) {
                    let below = value.clone().min(high);
                    self.worth = Worth::Value(below.max(low));
                    return;
                }
                let (low_digest, high_digest) = (
                    of_expression(self.program, low),
                    of_expression(self.program, high),
                );
                let done = format!("kept within {low_digest} and {high_digest}");
                self.formula(&done, low.span);
            }
            Step::Rounded { rounding, to, .. } => {
                let unit = to.constant(self.program).and_then(|value| value.number());
                if let (Worth::Value(Value::Number(value)), Some(unit)) = (&self.worth, unit)
                    && let Ok(rounded) = value.rounded_to(unit, *rounding)
                {
                    self.worth = Worth::Value(Value::Number(rounded));
                    return;
                }
                let digest = of_expression(self.program, to);
                self.formula(&format!("rounded {rounding:?} to {digest}"), to.span);
            }
            Step::OrIfUnknown { instead, .. } => {
                if self.worth == Worth::Undecided {
                    self.worth = self.of_expression("gives", instead);
                } else if let Worth::Formula(formula) = &self.worth {
                    let span = formula.span;
                    let digest = of_expression(self.program, instead);
                    self.formula(&format!("or if unknown {digest}"), span);
                }
            }
        }
    }
}
