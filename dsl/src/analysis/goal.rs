//! What a player's columns are to come to, and what that asks of his readings.

use std::collections::{BTreeMap, BTreeSet};

use super::affine::Affine;
use super::cell_set::CellSet;
use super::guess::Seen;
use super::landmarks::readings_of;
use super::sample::Span;
use super::space::{Axis, Cell};
use crate::program::{Expression, ExpressionKind, InputId, Program, Value};
use crate::quantity::Rational;

/// What one column is to come to.
pub(super) struct Goal<'g> {
    pub(super) axis: &'g Axis,
    pub(super) set: &'g CellSet,
    pub(super) affine: Option<Affine>,
    pub(super) expression: &'g Expression,
}

impl Goal<'_> {
    /// The one reading that the column is a multiple of.
    pub(super) fn alone(&self) -> Option<(InputId, Rational, Rational)> {
        let affine = self.affine.as_ref()?;
        let mut factors = affine.factors.iter();
        let (input, factor) = factors.next()?;
        let is_alone = factors.next().is_none();
        is_alone.then_some((*input, *factor, affine.constant))
    }

    /// The numbers of the cells, as spans.
    pub(super) fn spans(&self) -> Vec<Span> {
        let pieces = self.axis.pieces(self.set);
        let known = CellSet::run(0, self.axis.numbers_len());
        let ends = pieces
            .iter()
            .filter_map(|piece| self.axis.number_ends(&piece.intersection(&known)));
        ends.map(Span::from).collect()
    }

    pub(super) fn holds(&self, seen: &Seen) -> bool {
        self.set
            .places()
            .any(|place| match (self.axis.cell(place), seen) {
                (Some(Cell::None), Seen::None) | (Some(Cell::Unknown), Seen::Unknown) => true,
                (Some(Cell::Value(value)), Seen::Known(known)) => value == *known,
                (Some(Cell::Point(point)), Seen::Known(Value::Number(number))) => point == *number,
                (Some(Cell::Open(low, high)), Seen::Known(Value::Number(number))) => {
                    low.is_none_or(|low| low < *number) && high.is_none_or(|high| *number < high)
                }
                _ => false,
            })
    }

    fn is_unknown_only(&self) -> bool {
        let first = self.set.first();
        first.is_some() && first == self.axis.unknown_place()
    }
}

/// What each reading that stands alone in columns may be: the intersection of what they allow;
/// `None` where that is nothing.
pub(super) fn allowed(
    program: &Program,
    goals: &[Goal<'_>],
) -> Option<BTreeMap<InputId, Vec<Span>>> {
    let mut allowed: BTreeMap<InputId, Vec<Span>> = BTreeMap::new();
    for goal in goals.iter().filter(|goal| !goal.is_unknown_only()) {
        let Some((input, factor, constant)) = goal.alone() else {
            continue;
        };
        let takes_more = [goal.axis.none_place(), goal.axis.unknown_place()]
            .into_iter()
            .flatten()
            .any(|place| goal.set.contains(place));
        if takes_more && goal.spans().is_empty() {
            continue;
        }
        let back = |number: Rational| number.minus(constant).ok()?.over(factor).ok();
        let spans: Vec<Span> = goal
            .spans()
            .into_iter()
            .filter_map(|span| span.mapped(&back, factor.is_negative()))
            .collect();
        let own = allowed
            .entry(input)
            .or_insert_with(|| vec![range_of(program, input)]);
        *own = own
            .iter()
            .flat_map(|one| spans.iter().map(|two| one.intersection(two)))
            .filter(|span| !span.is_empty())
            .collect();
        if own.is_empty() {
            return None;
        }
    }
    Some(allowed)
}

/// The readings without which a column comes out unknown: all that it is made of.
pub(super) fn absent(program: &Program, goals: &[Goal<'_>]) -> BTreeSet<InputId> {
    let unknown = goals.iter().filter(|goal| goal.is_unknown_only());
    unknown
        .flat_map(|goal| readings_of(program, &[goal.expression]).inputs)
        .collect()
}

/// For each column with several readings, the one that is computed from the others.
pub(super) fn solved_for(goals: &[Goal<'_>], absent: &BTreeSet<InputId>) -> Vec<(InputId, usize)> {
    let mut alone: BTreeSet<InputId> = BTreeSet::new();
    for goal in goals {
        alone.extend(goal.alone().map(|(input, ..)| input));
    }
    let mut solved: Vec<(InputId, usize)> = Vec::new();
    for (number, goal) in goals.iter().enumerate() {
        let Some(affine) = goal
            .affine
            .as_ref()
            .filter(|affine| affine.factors.len() > 1)
        else {
            continue;
        };
        let is_free = |input: &&InputId| {
            !absent.contains(*input) && solved.iter().all(|(other, _)| other != *input)
        };
        let mut free: Vec<&InputId> = affine.factors.keys().filter(is_free).collect();
        // Rather one that no column holds on its own.
        free.sort_by_key(|input| alone.contains(*input));
        solved.extend(free.first().map(|input| (**input, number)));
    }
    solved
}

/// Of the values of a reading, those that the columns take that are this reading itself.
pub(super) fn fitting(goals: &[Goal<'_>], input: InputId, mut values: Vec<Value>) -> Vec<Value> {
    for goal in goals {
        let is_it = matches!(goal.expression.kind, ExpressionKind::Input(id) if id == input);
        let takes_known = goal
            .set
            .first()
            .is_some_and(|first| first < goal.axis.known_len());
        if is_it && takes_known {
            values.retain(|value| goal.holds(&Seen::Known(value.clone())));
        }
    }
    values
}

/// The range of a reading.
pub(super) fn range_of(program: &Program, input: InputId) -> Span {
    let between = program.inputs[input].between.as_ref();
    let ends = between.and_then(|(low, high)| Some((low.number()?, high.number()?)));
    Span {
        low: ends.map(|(low, _)| (low, true)),
        high: ends.map(|(_, high)| (high, true)),
    }
}
