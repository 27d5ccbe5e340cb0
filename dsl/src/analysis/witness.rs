//! A player for a region: readings under which each column takes a value of its cells.
//!
//! Where every column is a reading, or a sum of readings times constants, the player is solved for
//! exactly: readings that stand alone in columns are intersected with what those columns allow,
//! and where several share a column the last of them is computed from the others. What else a
//! column rests on is tried: each reading takes the ends and the middle of its range and the bounds
//! that the rules name for it, in [`MOST_TRIES`] combinations that are always the same.

use std::collections::{BTreeMap, BTreeSet};

use super::affine::{Affine, affine};
use super::cell_set::CellSet;
use super::guess::{Guess, Seen};
use super::landmarks::{Readings, landmarks, readings_of};
use super::sample::{Span, pleasant};
use super::space::{Axis, Cell, Space};
use super::sweep::Region;
use crate::check::field_owner;
use crate::program::{
    Decision, Expression, ExpressionKind, InputId, Members, Program, Table, Type, Value,
};
use crate::quantity::Rational;

/// How many players are tried for a region.
pub const MOST_TRIES: usize = 200;

/// What the search for a player came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Search {
    /// This player: the readings he gives. Any other reading of `absent` is not given.
    Found {
        /// The readings.
        given: Vec<(InputId, Value)>,
        /// Readings that must be missing.
        absent: Vec<InputId>,
    },
    /// Readings alone allow nobody there.
    Impossible,
    /// So many players were tried and none was there.
    NotFound(usize),
    /// Columns rest on clubs, parts or models: no readings are proposed.
    NotTried,
}

/// Looks for a player in a region of a table's space, for whom the decision is asked at all.
pub fn find_player(
    program: &Program,
    decision: &Decision,
    table: &Table,
    space: &Space,
    region: &Region,
) -> Search {
    let mut expressions: Vec<_> = table.columns.iter().map(|column| &column.value).collect();
    expressions.extend(&decision.only_when);
    let clubs = clubs_of(program, decision);
    expressions.extend(clubs);
    let readings = readings_of(program, &expressions);
    if readings.rests_on_more {
        return Search::NotTried;
    }
    let goals: Vec<Goal<'_>> = table
        .columns
        .iter()
        .zip(&space.axes)
        .zip(&region.sets)
        .map(|((column, axis), set)| Goal {
            axis,
            set,
            affine: affine(program, &column.value),
            expression: &column.value,
        })
        .collect();
    let Some(mut allowed) = allowed(program, &goals) else {
        return Search::Impossible;
    };
    let absent = absent(program, &goals);
    if absent.iter().any(|input| allowed.contains_key(input)) {
        return Search::Impossible;
    }
    let solved = solved_for(&goals, &absent);
    let mut choices: Vec<(InputId, Vec<Value>)> = Vec::new();
    for input in &readings.inputs {
        if absent.contains(input) || solved.iter().any(|(own, _)| own == input) {
            continue;
        }
        let spans = allowed.remove(input);
        let values = values_of(program, &readings, *input, spans);
        let values = fitting(&goals, *input, values);
        if values.is_empty() {
            return Search::Impossible;
        }
        choices.push((*input, values));
    }
    let total = choices
        .iter()
        .try_fold(1_usize, |total, (_, values)| {
            total.checked_mul(values.len())
        })
        .unwrap_or(usize::MAX);
    let tries = total.min(MOST_TRIES);
    for number in 0..tries {
        let mut given = combination(&choices, number, total);
        if complete(program, &goals, &solved, &mut given).is_some()
            && is_there(program, decision, clubs, &goals, &given)
        {
            return Search::Found {
                given: given.into_iter().collect(),
                absent: absent.into_iter().collect(),
            };
        }
    }
    Search::NotFound(tries)
}

/// The number of clubs that the decision is made for, where readings alone say it.
fn clubs_of<'p>(program: &'p Program, decision: &Decision) -> Option<&'p Expression> {
    let group = decision.for_each.as_ref()?.group;
    let Members::AsManyAs(count) = &program.groups[field_owner(program, group)].members else {
        return None;
    };
    (!readings_of(program, &[count]).rests_on_more).then_some(count)
}

/// Of the values of a reading, those that the columns take that are this reading itself.
fn fitting(goals: &[Goal<'_>], input: InputId, mut values: Vec<Value>) -> Vec<Value> {
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

/// What one column is to come to.
struct Goal<'g> {
    axis: &'g Axis,
    set: &'g CellSet,
    affine: Option<Affine>,
    expression: &'g Expression,
}

impl Goal<'_> {
    /// The one reading that the column is a multiple of.
    fn alone(&self) -> Option<(InputId, Rational, Rational)> {
        let affine = self.affine.as_ref()?;
        let mut factors = affine.factors.iter();
        let (input, factor) = factors.next()?;
        let is_alone = factors.next().is_none();
        is_alone.then_some((*input, *factor, affine.constant))
    }

    /// The numbers of the cells, as spans.
    fn spans(&self) -> Vec<Span> {
        let pieces = self.axis.pieces(self.set);
        let known = CellSet::run(0, self.axis.numbers_len());
        let ends = pieces
            .iter()
            .filter_map(|piece| self.axis.number_ends(&piece.intersection(&known)));
        ends.map(Span::from).collect()
    }

    fn holds(&self, seen: &Seen) -> bool {
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
fn allowed(program: &Program, goals: &[Goal<'_>]) -> Option<BTreeMap<InputId, Vec<Span>>> {
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
fn absent(program: &Program, goals: &[Goal<'_>]) -> BTreeSet<InputId> {
    let unknown = goals.iter().filter(|goal| goal.is_unknown_only());
    unknown
        .flat_map(|goal| readings_of(program, &[goal.expression]).inputs)
        .collect()
}

/// For each column with several readings, the one that is computed from the others.
fn solved_for(goals: &[Goal<'_>], absent: &BTreeSet<InputId>) -> Vec<(InputId, usize)> {
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

/// The values that are tried for a reading, the likeliest first.
fn values_of(
    program: &Program,
    readings: &Readings,
    input: InputId,
    spans: Option<Vec<Span>>,
) -> Vec<Value> {
    let declared = &program.inputs[input];
    let value_type = declared.value_type;
    if !value_type.is_numeric() {
        return match value_type {
            Type::Flag => vec![Value::Flag(false), Value::Flag(true)],
            Type::Choice(id) | Type::Scale(id) => {
                let values = program.vocabularies[id].values();
                values.into_iter().map(Value::Word).collect()
            }
            _ => Vec::new(),
        };
    }
    let spans = spans.unwrap_or_else(|| vec![range_of(program, input)]);
    let is_whole = matches!(value_type, Type::Count | Type::Date);
    let mut values: Vec<Rational> = Vec::new();
    for span in &spans {
        values.extend(pleasant(*span, &declared.shown, value_type));
    }
    let marks = landmarks(program, readings, input);
    for span in &spans {
        let ends = [span.low, span.high].into_iter().flatten().map(|end| end.0);
        values.extend(
            ends.chain(marks.iter().copied())
                .filter(|end| span.holds(*end) && (!is_whole || end.is_whole())),
        );
    }
    let mut seen = BTreeSet::new();
    values.retain(|value| seen.insert(*value));
    values.into_iter().map(Value::Number).collect()
}

fn range_of(program: &Program, input: InputId) -> Span {
    let between = program.inputs[input].between.as_ref();
    let ends = between.and_then(|(low, high)| Some((low.number()?, high.number()?)));
    Span {
        low: ends.map(|(low, _)| (low, true)),
        high: ends.map(|(_, high)| (high, true)),
    }
}

/// The combination `number`: all of them in order where there are few, else spread over all.
fn combination(
    choices: &[(InputId, Vec<Value>)],
    number: usize,
    total: usize,
) -> BTreeMap<InputId, Value> {
    // A prime step shares no factor with the counts of values, so that every choice varies.
    const STEP: usize = 7_919;
    let stride = if total <= MOST_TRIES {
        1
    } else {
        total / MOST_TRIES + STEP
    };
    let mut rest = number.wrapping_mul(stride) % total.max(1);
    let mut given = BTreeMap::new();
    for (input, values) in choices {
        let count = values.len().max(1);
        if let Some(value) = values.get(rest % count) {
            given.insert(*input, value.clone());
        }
        rest /= count;
    }
    given
}

/// Computes the readings that are solved for.
fn complete(
    program: &Program,
    goals: &[Goal<'_>],
    solved: &[(InputId, usize)],
    given: &mut BTreeMap<InputId, Value>,
) -> Option<()> {
    for (input, number) in solved {
        let goal = goals.get(*number)?;
        let affine = goal.affine.as_ref()?;
        let mut rest = affine.constant;
        for (other, factor) in affine.factors.iter().filter(|(other, _)| *other != input) {
            // A later column's own reading is not there yet: its middle stands in.
            let number = match given.get(other) {
                Some(value) => value.number()?,
                None => {
                    let declared = &program.inputs[*other];
                    let range = range_of(program, *other);
                    let middle = pleasant(range, &declared.shown, declared.value_type)?;
                    given.insert(*other, Value::Number(middle));
                    middle
                }
            };
            rest = rest.plus(number.times(*factor).ok()?).ok()?;
        }
        let factor = *affine.factors.get(input)?;
        let back = |number: Rational| number.minus(rest).ok()?.over(factor).ok();
        let declared = &program.inputs[*input];
        let range = range_of(program, *input);
        let value = goal.spans().into_iter().find_map(|span| {
            let span = span
                .mapped(&back, factor.is_negative())?
                .intersection(&range);
            pleasant(span, &declared.shown, declared.value_type)
        })?;
        given.insert(*input, Value::Number(value));
    }
    Some(())
}

/// Whether the decision is asked for this player and every column comes to a value of its cells.
fn is_there(
    program: &Program,
    decision: &Decision,
    clubs: Option<&Expression>,
    goals: &[Goal<'_>],
    given: &BTreeMap<InputId, Value>,
) -> bool {
    let guess = Guess::new(program, given);
    let has_clubs = clubs.is_none_or(|count| {
        matches!(guess.see(count), Some(Seen::Known(Value::Number(count))) if count >= Rational::ONE)
    });
    let is_asked = decision
        .only_when
        .as_ref()
        .is_none_or(|condition| guess.see(condition) == Some(Seen::Known(Value::Flag(true))));
    let is_met = |goal: &Goal<'_>| {
        guess
            .see(goal.expression)
            .is_some_and(|seen| goal.holds(&seen))
    };
    has_clubs && is_asked && goals.iter().all(is_met)
}
