//! How sure: decisions whose reading lies within one spread of its mean of a bound of the row that
//! decided, and what would come out on the other side.
//!
//! Looked at are numeric columns that are a reading or affine in one. A reading that was assumed
//! has no spread; a bound at the end of what the reading may be has no other side.

use loftwright_dsl::program::{Decision, InputId, Node, Table, Type, Value};
use loftwright_dsl::quantity::{Rational, Rounding};

use super::affine::{AffineForms, Slanted};
use super::bounds::{Edge, edges, room_beyond};
use super::places::Moving;
use super::spread::spreads_within_one;
use crate::explain::{Evaluated, View, of_other_side};
use crate::outcome::{Outcome, Place, State};
use crate::player::Reading;
use crate::recommendation::Borderline;
use crate::trace::StepTrace;

/// Just past a bound is this share of the reading's spread behind it.
const SHARE_OF_SPREAD: (i128, i128) = (1, 1_000);

/// Every borderline decision, in the order of evaluation.
pub(crate) fn borderlines(view: &View<'_>, moving: &mut Moving<'_>) -> Vec<Borderline> {
    let mut search = Search {
        view,
        forms: AffineForms::new(view.program),
        moving,
        found: Vec::new(),
    };
    for entry in view.evaluated() {
        search.look_at(entry);
    }
    search.found
}

struct Search<'v, 'a, 'm> {
    view: &'v View<'a>,
    forms: AffineForms<'a>,
    moving: &'v mut Moving<'m>,
    found: Vec<Borderline>,
}

/// A reading that was sent with the spread that it is told with.
struct Measured<'a> {
    value: Rational,
    spread: Rational,
    reading: &'a Reading,
}

impl<'a> Search<'_, 'a, '_> {
    fn look_at(&mut self, entry: &Evaluated<'_>) {
        let trace = self.view.trace;
        let (Node::Decision(id), Some(steps)) = (entry.place.node, trace.steps(entry.how)) else {
            return;
        };
        if !matches!(entry.outcome, Outcome::Decided(_)) {
            return;
        }
        let decision = &self.view.program.decisions[id];
        let tables = decision.tables();
        for step in steps {
            if let StepTrace::Row { table, row, .. } = step
                && let Some(table) = tables.get(*table)
            {
                self.look_at_row(entry.place, decision, table, *row, trace.columns(step));
            }
        }
    }

    fn look_at_row(
        &mut self,
        place: Place,
        decision: &'a Decision,
        table: &'a Table,
        row: usize,
        columns: &[State],
    ) {
        for (index, column) in table.columns.iter().enumerate() {
            if !matches!(columns.get(index), Some(State::Known(Value::Number(_)))) {
                continue;
            }
            let Some(line) = self.forms.slanted(&column.value) else {
                continue;
            };
            let Some(measured) = self.measured(line.input) else {
                continue;
            };
            for edge in edges(table, row, index, columns) {
                let room = room_beyond(table, index, edge);
                let Some((spreads, past)) = self.crossing(line, &measured, edge, room) else {
                    continue;
                };
                let other_side = self.other_side(place, decision, line.input, past);
                let input = &self.view.program.inputs[line.input];
                let reading_text = &measured.reading.value;
                let bound = Value::Number(edge.value);
                let borderline = Borderline {
                    decision: decision.name.clone(),
                    club: self.view.club_of(place),
                    input: input.name.clone(),
                    reading: input
                        .shown
                        .text(self.view.program, input.value_type, reading_text),
                    bound: column
                        .shown
                        .text(self.view.program, column.value.value_type, &bound),
                    spreads: spreads.to_text(),
                    other_side,
                };
                if !self.found.contains(&borderline) {
                    self.found.push(borderline);
                }
            }
        }
    }

    /// The reading that was sent, where it has a spread.
    fn measured(&self, input: InputId) -> Option<Measured<'a>> {
        let reading = self.view.player.readings.get(&input)?;
        let usual = self.view.program.inputs[input].spread.as_ref();
        let spread = reading.spread.or_else(|| usual.and_then(Value::number))?;
        Some(Measured {
            value: reading.value.number()?,
            spread,
            reading,
        })
    }

    /// How many spreads the reading is from the edge, and the reading just past it; `None` where
    /// the edge is more than one spread away or no reading can be past it.
    fn crossing(
        &self,
        line: Slanted,
        measured: &Measured<'_>,
        edge: Edge,
        room: Option<Rational>,
    ) -> Option<(Rational, Rational)> {
        let at_edge = line.reading_at(edge.value)?;
        let distance = measured.value.minus(at_edge).ok()?;
        let spreads = spreads_within_one(distance, measured.spread, measured.reading.shots)?;
        let input = &self.view.program.inputs[line.input];
        let upward = edge.other_side_is_above != line.slope.is_negative();
        let past = if input.value_type == Type::Count {
            whole_past(at_edge, upward, edge.belongs_to_other_side)?
        } else if edge.belongs_to_other_side {
            at_edge
        } else {
            let (share, of) = SHARE_OF_SPREAD;
            let step = measured
                .spread
                .times(Rational::fraction(share, of).ok()?)
                .ok()?;
            let room = room.and_then(|room| {
                room.over(line.slope.size())
                    .ok()?
                    .over(Rational::whole(2))
                    .ok()
            });
            let step = room.map_or(step, |room| room.min(step));
            if upward {
                at_edge.plus(step).ok()?
            } else {
                at_edge.minus(step).ok()?
            }
        };
        let allowed = input.between.as_ref().is_none_or(|(low, high)| {
            low.number().is_none_or(|low| low <= past)
                && high.number().is_none_or(|high| past <= high)
        });
        allowed.then_some((spreads, past))
    }

    /// What the decision comes to with the reading just past the bound.
    fn other_side(
        &mut self,
        place: Place,
        decision: &Decision,
        input: InputId,
        past: Rational,
    ) -> Option<String> {
        let view = self.view;
        let readings = [(input, Value::Number(past))];
        match &self.moving.outcome(&readings, place)? {
            Outcome::Decided(value) => Some(decision.shown.text(
                view.program,
                decision.value_type,
                value,
            )),
            other => of_other_side(view, place, other),
        }
    }
}

/// The whole number nearest past a bound.
fn whole_past(bound: Rational, upward: bool, bound_belongs: bool) -> Option<Rational> {
    let rounding = if upward { Rounding::Up } else { Rounding::Down };
    let nearest = bound.rounded_to(Rational::ONE, rounding).ok()?;
    if nearest != bound || bound_belongs {
        return Some(nearest);
    }
    if upward {
        nearest.plus(Rational::ONE).ok()
    } else {
        nearest.minus(Rational::ONE).ok()
    }
}
