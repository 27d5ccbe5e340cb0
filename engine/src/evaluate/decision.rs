//! Decisions: the value by rows, an expression or along the bag; then the steps.
//!
//! `then by` tables look at the value so far, in order: `gives` takes its place, `adds` and `takes
//! off` change it at once, `moves` wait and are applied together after the last table, stopped once
//! at the scale's ends. Only then come `then kept within`, `then rounded to` and `then or if
//! unknown`, as they are written. A value that is not decided goes through all of it, so that every
//! reading that is missing is named at once.

use loftwright_dsl::program::{Body, Decision, Gives, RowResult, Table, Value};

use super::algebra::{Answer, Ended, both, outcome_of_answer};
use super::expression::{Asker, At};
use super::operators;
use super::progression::Clause;
use super::rows::Match;
use crate::outcome::{Outcome, State, Undecided};
use crate::trace::{GivesWhich, How, StepTrace, TraceSink};

/// A decision on its way to its value.
pub(super) struct Deciding {
    /// The value so far.
    pub(super) value: State,
    /// The moves so far, where there were any.
    pub(super) moves: Option<i32>,
    /// What a `then by` table still needs.
    pub(super) waiting: Option<Box<Undecided>>,
    /// The number of the next table.
    pub(super) table: usize,
    /// How it came about; empty where no trace is kept.
    pub(super) steps: Vec<StepTrace>,
}

impl Deciding {
    /// Nothing decided yet.
    fn new() -> Self {
        Deciding {
            value: State::None,
            moves: None,
            waiting: None,
            table: 0,
            steps: Vec::new(),
        }
    }
}

impl Deciding {
    /// Keeps a step made from the value after it, where a trace is kept.
    fn note<S: TraceSink>(&mut self, step: impl FnOnce(&State) -> StepTrace) {
        if S::IS_KEPT {
            let step = step(&self.value);
            self.steps.push(step);
        }
    }
}

impl<S: TraceSink> Asker<'_, S> {
    /// A decision for the club at hand; `clause` is the one it takes along the bag.
    pub(super) fn decision(
        &mut self,
        decision: &Decision,
        clause: Option<Clause>,
        at: At<'_>,
    ) -> (Outcome, How) {
        if let Some(condition) = &decision.only_when
            && let Some(open) = self.does_not_apply(condition, at)
        {
            return (open, How::OnlyWhen);
        }
        let mut deciding = Deciding::new();
        if S::IS_KEPT {
            // Nearly all have a value and what each step does to it.
            deciding.steps.reserve_exact(1 + decision.steps.len());
        }
        let answer = self.decide(decision, clause, at, &mut deciding);
        (outcome_of_answer(answer), How::Steps(deciding.steps))
    }

    fn decide(
        &mut self,
        decision: &Decision,
        clause: Option<Clause>,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Answer {
        match (&decision.body, clause) {
            (Body::Table(table), _) => self.by_table(table, at, deciding)?,
            (Body::Gives(gives), _) => self.by_gives(GivesWhich::Gives, gives, at, deciding)?,
            (Body::Progression(progression), Some(clause)) => {
                self.decide_along(decision, progression, clause, at, deciding)?;
            }
            (Body::Progression(_), None) => return Err(Ended::not_checked()),
        }
        self.decide_steps(decision, at, deciding)
    }

    /// The value is what the expression gives.
    pub(super) fn by_gives(
        &mut self,
        which: GivesWhich,
        gives: &Gives,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<(), Ended> {
        deciding.value = self.ask(&gives.value, at)?;
        if let (true, State::Known(value)) = (S::IS_KEPT, &deciding.value) {
            deciding.steps.push(StepTrace::Gives {
                which,
                value: value.clone(),
            });
        }
        Ok(())
    }

    /// The value is what the table's row says, or not decided.
    pub(super) fn by_table(
        &mut self,
        table: &Table,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<(), Ended> {
        if let Some(undecided) = self.look_up(table, at, deciding)? {
            deciding.value = State::Undecided(undecided);
        }
        Ok(())
    }

    /// Asks one table and does what its row says; what it needs, where it does not decide.
    pub(super) fn look_up(
        &mut self,
        table: &Table,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<Option<Box<Undecided>>, Ended> {
        let number = deciding.table;
        deciding.table += 1;
        let columns = self.columns(table, at)?;
        match self.match_rows(table, &columns)? {
            Match::Row(row) => {
                self.row_decides(table, row, columns, at, deciding)?;
                Ok(None)
            }
            Match::DoesNotApply => {
                deciding.value = State::None;
                Ok(None)
            }
            Match::NoRow => {
                let rows = Vec::new();
                deciding.note::<S>(|_| StepTrace::Remaining {
                    table: number,
                    rows,
                    columns,
                });
                let row = table.rows.len().saturating_sub(1);
                Err(Ended::Contradicted { table: number, row })
            }
            Match::Several { rows, undecided } => {
                let Some(result) = &table.if_unknown else {
                    deciding.note::<S>(|_| StepTrace::Remaining {
                        table: number,
                        rows,
                        columns,
                    });
                    return Ok(Some(undecided));
                };
                self.apply(result, at, deciding)?;
                deciding.note::<S>(|value| {
                    let value = value_after(result, value);
                    StepTrace::IfUnknown {
                        table: number,
                        columns,
                        value,
                    }
                });
                Ok(None)
            }
        }
    }

    fn row_decides(
        &mut self,
        table: &Table,
        row: usize,
        columns: Vec<State>,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<(), Ended> {
        let number = deciding.table.saturating_sub(1);
        let found = table.rows.get(row).ok_or_else(Ended::not_checked)?;
        let done = if found.result.cannot_happen() {
            Err(Ended::Contradicted { table: number, row })
        } else {
            self.apply(&found.result, at, deciding)
        };
        deciding.note::<S>(|value| {
            let value = if done.is_ok() {
                value_after(&found.result, value)
            } else {
                None
            };
            StepTrace::Row {
                table: number,
                row,
                columns,
                value,
            }
        });
        done
    }

    fn apply(
        &mut self,
        result: &RowResult,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<(), Ended> {
        use loftwright_dsl::program::Arithmetic::{Minus, Plus};
        let (operator, by) = match result {
            RowResult::Gives(value) => {
                deciding.value = self.ask(value, at)?;
                return Ok(());
            }
            RowResult::Moves(half_steps) => {
                deciding.moves = Some(deciding.moves.unwrap_or(0).saturating_add(*half_steps));
                return Ok(());
            }
            RowResult::Keeps => return Ok(()),
            RowResult::CannotHappen => return Err(Ended::not_checked()),
            RowResult::Adds(by) => (Plus, by),
            RowResult::TakesOff(by) => (Minus, by),
        };
        let change = self.ask(by, at)?;
        let value = std::mem::replace(&mut deciding.value, State::None);
        deciding.value = match both(value, change) {
            Ok((value, change)) => State::Known(operators::arithmetic(operator, &value, &change)?),
            Err(open) => open,
        };
        Ok(())
    }
}

/// The value a row leaves behind, for the trace; a row that moves leaves it to the end.
fn value_after(result: &RowResult, value: &State) -> Option<Value> {
    match (result, value) {
        (RowResult::Moves(_), _) => None,
        (_, State::Known(value)) => Some(value.clone()),
        _ => None,
    }
}
