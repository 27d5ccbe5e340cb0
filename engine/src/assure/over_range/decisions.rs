//! How a decision moves: by the rows that decided for the readings at hand.
//!
//! A column that moves is cut at every bound of its conditions, so that inside a piece the same row
//! decides throughout; then the decision moves as that row's result does.

use loftwright_dsl::program::{
    Arithmetic, Body, Decision, Gives, NextStep, Progression, RowResult, Step, Table, Value,
    ValueSet,
};
use loftwright_dsl::quantity::Rational;

use super::expressions::Here;
use super::motion::Motion;
use super::nodes::Follower;
use crate::trace::{Entry, GivesWhich, StepTrace};

impl Follower<'_> {
    /// How a decision moves for one club.
    pub(super) fn decision(
        &mut self,
        decision: &Decision,
        entry: Option<&Entry>,
        here: Here,
    ) -> Motion {
        if let Some(each) = &decision.for_each {
            let order = self.order(each.group, each.order.as_ref());
            if order != Motion::Still {
                return order;
            }
        }
        let applies = self.still_together(&decision.only_when, here);
        if applies != Motion::Still {
            return applies;
        }
        let Some(steps) = entry.and_then(|entry| self.trace.steps(&entry.how)) else {
            return Motion::Still;
        };
        let mut walk = Walk {
            steps,
            table: 0,
            motion: Motion::Still,
        };
        match &decision.body {
            Body::Table(table) => self.table(table, &mut walk, here),
            Body::Gives(gives) => walk.motion = self.expression(&gives.value, here),
            Body::Progression(progression) => self.progression(progression, &mut walk, here),
        }
        for step in &decision.steps {
            if matches!(walk.motion, Motion::Lost(_)) {
                break;
            }
            if let Step::Table(table) = step {
                self.table(table, &mut walk, here);
            }
        }
        for step in &decision.steps {
            walk.motion = self.post(step, walk.motion, here);
        }
        walk.motion
    }

    fn progression(&mut self, progression: &Progression, walk: &mut Walk<'_>, here: Here) {
        let expressions = || {
            let next = match &progression.next {
                Some(NextStep::Gives(gives)) => Some(gives),
                _ => None,
            };
            let all = [
                progression.kept.as_ref(),
                Some(&progression.first),
                next,
                progression.last.as_ref(),
            ];
            all.into_iter().flatten().map(|gives: &Gives| &gives.value)
        };
        let next_table = match &progression.next {
            Some(NextStep::Table(table)) => Some(table),
            _ => None,
        };
        let which = walk.steps.iter().find_map(|step| match step {
            StepTrace::Gives { which, .. } => Some(*which),
            _ => None,
        });
        let gives = match (which, &progression.next) {
            (Some(GivesWhich::Kept), _) => progression.kept.as_ref(),
            (Some(GivesWhich::First), _) => Some(&progression.first),
            (Some(GivesWhich::Last), _) => progression.last.as_ref(),
            (Some(_), Some(NextStep::Gives(gives))) => Some(gives),
            _ => None,
        };
        walk.motion = match gives {
            Some(gives) => self.expression(&gives.value, here),
            // No value, or one by rows: which clause it was does not show.
            None => self.still_together(expressions(), here),
        };
        if let Some(table) = next_table {
            if gives.is_none() && walk.motion == Motion::Still {
                let previous = here.previous;
                walk.motion =
                    previous.map_or(Motion::Still, |place| self.place(place.node, place.member));
                self.table(table, walk, here);
            } else {
                walk.table += 1;
            }
        }
    }

    /// A table: its columns are cut, then the row that decided says how the value moves.
    fn table(&mut self, table: &Table, walk: &mut Walk<'_>, here: Here) {
        let number = walk.table;
        walk.table += 1;
        for (index, column) in table.columns.iter().enumerate() {
            let motion = self.expression(&column.value, here);
            let bounds = bounds_of(table, index);
            if let lost @ Motion::Lost(_) = self.settled(motion, bounds) {
                walk.motion = lost;
                return;
            }
        }
        let result = walk.steps.iter().find_map(|step| match step {
            StepTrace::Row { table: of, row, .. } if *of == number => {
                table.rows.get(*row).map(|row| &row.result)
            }
            StepTrace::IfUnknown { table: of, .. } if *of == number => table.if_unknown.as_ref(),
            _ => None,
        });
        // A table that decided nothing leaves nothing that could move.
        let Some(result) = result else { return };
        walk.motion = match result {
            RowResult::Gives(value) => self.expression(value, here),
            RowResult::Moves(_) | RowResult::Keeps | RowResult::CannotHappen => {
                std::mem::replace(&mut walk.motion, Motion::Still)
            }
            RowResult::Adds(value) => {
                let change = self.expression(value, here);
                let known = self.state(value, here);
                walk.changed(Arithmetic::Plus, change, known, number)
            }
            RowResult::TakesOff(value) => {
                let change = self.expression(value, here);
                let known = self.state(value, here);
                walk.changed(Arithmetic::Minus, change, known, number)
            }
        };
    }

    fn post(&mut self, step: &Step, motion: Motion, here: Here) -> Motion {
        match step {
            Step::Table(_) => motion,
            Step::KeptWithin { low, high, .. } => self.kept_within(motion, low, high, here),
            Step::Rounded { rounding, to, .. } => self.rounded(motion, *rounding, to, here),
            Step::OrIfUnknown { instead, .. } => match motion {
                Motion::Still => self.still_together([instead], here),
                other => other,
            },
        }
    }
}

/// A decision's tables on the way to its value.
struct Walk<'s> {
    steps: &'s [StepTrace],
    table: usize,
    motion: Motion,
}

impl Walk<'_> {
    /// The value before plus or minus a change, one of which may move.
    fn changed(
        &self,
        operator: Arithmetic,
        change: Motion,
        known: Option<crate::outcome::State>,
        number: usize,
    ) -> Motion {
        let sign = match operator {
            Arithmetic::Minus => Rational::whole(-1),
            _ => Rational::ONE,
        };
        let known = match known {
            Some(crate::outcome::State::Known(Value::Number(number))) => Some(number),
            _ => None,
        };
        match (&self.motion, change) {
            (Motion::Lost(why), _) => Motion::Lost(why.clone()),
            (_, lost @ Motion::Lost(_)) => lost,
            (Motion::Still, Motion::Still) => Motion::Still,
            (Motion::Line(line), Motion::Still) => match known {
                Some(change) => match change.times(sign) {
                    Ok(change) => line.scaled(Rational::ONE, change),
                    Err(_) => Motion::Still,
                },
                None => Motion::Still,
            },
            (Motion::Line(line), Motion::Line(change)) => {
                match change.scaled(sign, Rational::ZERO) {
                    Motion::Line(change) => line.plus(change),
                    other => other,
                }
            }
            (Motion::Still, Motion::Line(change)) => match self.value_before(number) {
                Some(before) => change.scaled(sign, before),
                None => Motion::Lost("a value that is added to the club before".to_owned()),
            },
        }
    }

    /// The value that the steps before a table left.
    fn value_before(&self, number: usize) -> Option<Rational> {
        let mut before = None;
        for step in self.steps {
            match step {
                StepTrace::Row { table, .. } | StepTrace::IfUnknown { table, .. }
                    if *table >= number =>
                {
                    break;
                }
                StepTrace::Row { value, .. } | StepTrace::IfUnknown { value, .. } => {
                    before = value.as_ref().or(before);
                }
                StepTrace::Gives { value, .. } => before = Some(value),
                _ => {}
            }
        }
        before?.number()
    }
}

/// Every bound that a column's conditions name.
fn bounds_of(table: &Table, index: usize) -> Vec<Rational> {
    let conditions = table
        .rows
        .iter()
        .filter_map(|row| row.conditions.get(index));
    let intervals = conditions.flat_map(|condition| match &condition.values {
        ValueSet::Intervals(intervals) => intervals.as_slice(),
        _ => &[],
    });
    intervals
        .flat_map(|interval| [interval.low, interval.high])
        .flatten()
        .map(|bound| bound.value)
        .collect()
}
