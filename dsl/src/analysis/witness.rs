//! A player for a region: readings under which each column takes a value of its cells.
//!
//! Where every column is a reading, or a sum of readings times constants, the player is solved for
//! exactly: readings that stand alone in columns are intersected with what those columns allow,
//! and where several share a column the last of them is computed from the others. What else a
//! column rests on is tried: each reading takes the ends and the middle of its range and the bounds
//! that the rules name for it, in [`MOST_TRIES`] combinations that are always the same.

use std::collections::{BTreeMap, BTreeSet};

use super::affine::affine;
use super::goal::{Goal, absent, allowed, fitting, range_of, solved_for};
use super::guess::{Guess, Seen};
use super::landmarks::{Readings, landmarks, readings_of};
use super::sample::{Span, pleasant};
use super::space::Space;
use super::sweep::Region;
use crate::check::field_owner;
use crate::program::{Decision, Expression, InputId, Members, Program, Table, Type, Value};
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
    let has_clubs = clubs.is_none_or(|count| match guess.see(count) {
        Some(Seen::Known(Value::Number(count))) => count >= Rational::ONE,
        _ => false,
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
