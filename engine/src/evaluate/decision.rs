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
use crate::trace::{GivesWhich, How, StepTrace, Stretch, TraceSink};

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
}

impl Deciding {
    /// Nothing decided yet.
    fn new() -> Self {
        Deciding {
            value: State::None,
            moves: None,
            waiting: None,
            table: 0,
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
        let before = self.sink.step_count();
        let answer = self.decide(decision, clause, at, &mut Deciding::new());
        let steps = Stretch::between(before, self.sink.step_count());
        (outcome_of_answer(answer), How::Steps(steps))
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
            self.sink.step(StepTrace::Gives {
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
        // One list serves all tables of a node.
        let mut columns = std::mem::take(&mut self.columns);
        columns.clear();
        let looked_up = match self.ask_columns(table, at, &mut columns) {
            Ok(()) => self.look_up_by(table, number, &mut columns, at, deciding),
            Err(ended) => Err(ended),
        };
        self.columns = columns;
        looked_up
    }

    fn look_up_by(
        &mut self,
        table: &Table,
        number: usize,
        columns: &mut Vec<State>,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<Option<Box<Undecided>>, Ended> {
        match self.match_rows(table, columns)? {
            Match::Row(row) => {
                let found = table.rows.get(row).ok_or_else(Ended::not_checked)?;
                let done = if found.result.cannot_happen() {
                    Err(Ended::Contradicted { table: number, row })
                } else {
                    self.apply(&found.result, at, deciding)
                };
                let is_done = done.is_ok();
                let value = || is_done.then(|| value_after(&found.result, &deciding.value));
                self.note(columns, |columns| StepTrace::Row {
                    table: number,
                    row,
                    columns,
                    value: value().flatten(),
                });
                done.map(|()| None)
            }
            Match::DoesNotApply => {
                deciding.value = State::None;
                Ok(None)
            }
            Match::NoRow => {
                let rows = Vec::new();
                self.note(columns, |columns| StepTrace::Remaining {
                    table: number,
                    rows,
                    columns,
                });
                let row = table.rows.len().saturating_sub(1);
                Err(Ended::Contradicted { table: number, row })
            }
            Match::Several { rows, undecided } => {
                let Some(result) = &table.if_unknown else {
                    self.note(columns, |columns| StepTrace::Remaining {
                        table: number,
                        rows,
                        columns,
                    });
                    return Ok(Some(undecided));
                };
                self.apply(result, at, deciding)?;
                self.note(columns, |columns| StepTrace::IfUnknown {
                    table: number,
                    columns,
                    value: value_after(result, &deciding.value),
                });
                Ok(None)
            }
        }
    }

    /// Keeps what a table did and what its columns were, where a trace is kept.
    fn note(&mut self, columns: &mut Vec<State>, step: impl FnOnce(Stretch) -> StepTrace) {
        if S::IS_KEPT {
            let columns = self.sink.columns(columns);
            self.sink.step(step(columns));
        }
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
