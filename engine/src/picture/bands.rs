//! A borderline decision as bands: the rows on both sides of a bound, the reading, its spread.

use loftwright_dsl::program::{
    Column, Condition, Decision, ExpressionKind, Interval, Node, Row, RowResult, Table, Type,
    Value, ValueSet, unit_factor,
};
use loftwright_dsl::quantity::Rational;

use super::{Band, Bands};
use crate::explain::{Evaluated, View};
use crate::outcome::State;
use crate::recommendation::Borderline;
use crate::sure::AffineForms;
use crate::trace::StepTrace;

/// A picture for each borderline decision, club and reading, in the order they are told.
pub(super) fn bands(view: &View<'_>, borderlines: &[Borderline]) -> Vec<Bands> {
    let mut found: Vec<Bands> = Vec::new();
    for near in borderlines {
        let is_of = |entry: &&Evaluated<'_>| {
            matches!(entry.place.node, Node::Decision(_))
                && view.name_of(entry.place.node) == near.decision
                && view.club_of(entry.place) == near.club
        };
        let entries = view.evaluated().iter().filter(is_of);
        let drawn = entries.flat_map(|entry| of_entry(view, entry, near));
        for drawn in drawn.collect::<Vec<_>>() {
            if !found.contains(&drawn) {
                found.push(drawn);
            }
        }
    }
    found
}

fn of_entry(view: &View<'_>, entry: &Evaluated<'_>, near: &Borderline) -> Vec<Bands> {
    let (Node::Decision(id), Some(steps)) = (entry.place.node, view.trace.steps(entry.how)) else {
        return Vec::new();
    };
    let decision = &view.program.decisions[id];
    let tables = decision.tables();
    let mut found = Vec::new();
    for step in steps {
        let StepTrace::Row { table, row, .. } = step else {
            continue;
        };
        let Some(table) = tables.get(*table) else {
            continue;
        };
        let looked = Looked {
            view,
            decision,
            table,
            row: *row,
            columns: view.trace.columns(step),
        };
        let indices = 0..table.columns.len();
        found.extend(indices.filter_map(|index| looked.along(index, near)));
    }
    found
}

/// A table as it was looked up.
struct Looked<'v, 'a> {
    view: &'v View<'a>,
    decision: &'v Decision,
    table: &'v Table,
    row: usize,
    columns: &'v [State],
}

impl Looked<'_, '_> {
    /// The bands along a column that the reading moves; `None` where it does not.
    fn along(&self, index: usize, near: &Borderline) -> Option<Bands> {
        let column = self.table.columns.get(index)?;
        let Some(State::Known(Value::Number(value))) = self.columns.get(index) else {
            return None;
        };
        let line = AffineForms::new(self.view.program).slanted(&column.value)?;
        let input = &self.view.program.inputs[line.input];
        if input.name != near.input {
            return None;
        }
        let reading = self.view.player.readings.get(&line.input)?;
        let usual = input.spread.as_ref().and_then(Value::number);
        let spread = reading.spread.or(usual)?;
        let scale = Scale::of(column)?;
        let shots = f64::from(reading.shots.max(1));
        Some(Bands {
            decision: near.decision.clone(),
            club: near.club.clone(),
            input: near.input.clone(),
            column: column.text.clone(),
            unit: scale.unit.clone(),
            value: scale.figure(*value),
            spread: scale.size(spread.times(line.slope.size()).ok()?) / shots.sqrt(),
            bands: self.rows_along(index, &scale),
        })
    }

    fn rows_along(&self, index: usize, scale: &Scale) -> Vec<Band> {
        let mut bands = Vec::new();
        for (number, row) in self.table.rows.iter().enumerate() {
            if !self.others_allow(row, index) {
                continue;
            }
            let whole = [Interval {
                low: None,
                high: None,
            }];
            let intervals = match row.conditions.get(index).map(|condition| &condition.values) {
                Some(ValueSet::Intervals(intervals)) => intervals.as_slice(),
                Some(ValueSet::All) | None => &whole,
                Some(_) => &[],
            };
            bands.extend(intervals.iter().map(|interval| Band {
                low: interval.low.map(|bound| scale.figure(bound.value)),
                high: interval.high.map(|bound| scale.figure(bound.value)),
                result: self.result_text(row),
                is_taken: number == self.row,
            }));
        }
        bands
    }

    fn others_allow(&self, row: &Row, index: usize) -> bool {
        let allows = |(place, condition): (usize, &Condition)| {
            place == index
                || match self.columns.get(place) {
                    Some(State::Known(value)) => condition.values.contains(value),
                    Some(State::None) => condition.none,
                    Some(State::Undecided(_)) => condition.unknown,
                    None => true,
                }
        };
        row.conditions.iter().enumerate().all(allows)
    }

    /// `high`, or what the row does as it is written.
    fn result_text(&self, row: &Row) -> String {
        if let RowResult::Gives(expression) = &row.result
            && let ExpressionKind::Constant(value) = &expression.kind
        {
            let shown = &self.decision.shown;
            return shown.text(self.view.program, self.decision.value_type, value);
        }
        let words = [
            "gives ",
            "moves ",
            "keeps",
            "adds ",
            "takes off ",
            "cannot happen",
        ];
        let begins = words.iter().filter_map(|word| row.text.find(word)).min();
        begins
            .and_then(|at| row.text.get(at..))
            .unwrap_or(&row.text)
            .trim_end()
            .to_owned()
    }
}

/// The unit in which a column is shown.
struct Scale {
    unit: String,
    factor: f64,
}

impl Scale {
    /// `None` for temperatures, whose zero is another in each unit; no table asks for one today.
    fn of(column: &Column) -> Option<Self> {
        if column.value.value_type == Type::Temperature {
            return None;
        }
        let unit = column.shown.unit_text(column.value.value_type);
        let unit = unit.unwrap_or_default();
        let factor = if unit.is_empty() {
            1.0
        } else {
            unit_factor(unit)?.to_f64()
        };
        Some(Scale {
            unit: unit.to_owned(),
            factor,
        })
    }

    fn figure(&self, value: Rational) -> f64 {
        value.to_f64() / self.factor
    }

    fn size(&self, difference: Rational) -> f64 {
        difference.to_f64() / self.factor
    }
}
