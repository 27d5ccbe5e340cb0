//! The players of a case: one, or several where a reading is given over a range.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Case, GivenReading, GroupId, InputId, Program, Record, Type, Value};
use loftwright_dsl::quantity::{Date, Rational, Rounding};

use crate::player::{Player, Reading};
use crate::recommendation::NamedText;

/// Points of a range where one reading is given over one: the ends, the middle, and between them.
const POINTS_OF_ONE_RANGE: i64 = 9;
/// Points of each range where two are given: every pair is tried.
const POINTS_OF_TWO_RANGES: i64 = 5;
/// Points of each range where three or four are given.
const POINTS_OF_MORE_RANGES: i64 = 3;
/// With more ranges than this all of them move together from their first value to their last.
const MOST_RANGES_COMBINED: usize = 4;

/// A player of a case.
pub(super) struct TryPoint {
    /// The player.
    pub(super) player: Player,
    /// The day, where the case gives it.
    pub(super) today: Option<Date>,
    /// The readings that stand for a range.
    pub(super) tried_with: Vec<NamedText>,
}

/// The players of a case, in a fixed order; at least one.
pub(super) fn try_points(program: &Program, case: &Case) -> Vec<TryPoint> {
    let ranges: Vec<_> = case
        .given
        .iter()
        .filter_map(|(input, reading)| match reading {
            GivenReading::Through(low, high) => Some((*input, low, high)),
            _ => None,
        })
        .collect();
    let points = match ranges.len() {
        0 | 1 => POINTS_OF_ONE_RANGE,
        2 => POINTS_OF_TWO_RANGES,
        3..=MOST_RANGES_COMBINED => POINTS_OF_MORE_RANGES,
        _ => POINTS_OF_ONE_RANGE,
    };
    let values: Vec<(InputId, Vec<Value>)> = ranges
        .iter()
        .map(|(input, low, high)| (*input, values_between(program, *input, low, high, points)))
        .collect();
    let combinations = if values.len() > MOST_RANGES_COMBINED {
        side_by_side(&values)
    } else {
        all_combinations(&values)
    };
    combinations
        .into_iter()
        .map(|chosen| try_point(program, case, chosen))
        .collect()
}

/// The player with these values for the readings of ranges.
pub(super) fn try_point(program: &Program, case: &Case, chosen: Vec<(InputId, Value)>) -> TryPoint {
    let mut point = TryPoint {
        player: Player {
            readings: BTreeMap::new(),
            given: given_clubs(program, case),
        },
        today: None,
        tried_with: Vec::new(),
    };
    let exact = case
        .given
        .iter()
        .filter_map(|(input, reading)| match reading {
            GivenReading::Exact(value) => Some((*input, value.clone())),
            _ => None,
        });
    for (input, value) in exact.chain(chosen.iter().cloned()) {
        let declared = &program.inputs[input];
        if declared.filled_by_the_engine && declared.value_type == Type::Date {
            point.today = value
                .number()
                .and_then(Rational::to_whole)
                .map(Date::from_days);
        } else {
            point.player.readings.insert(
                input,
                Reading {
                    value,
                    spread: None,
                    shots: 1,
                },
            );
        }
    }
    for (input, value) in &chosen {
        let declared = &program.inputs[*input];
        point.tried_with.push(NamedText {
            name: declared.name.clone(),
            text: declared.shown.text(program, declared.value_type, value),
        });
    }
    point
}

/// The clubs given with the player, each with the fields that the case gives.
fn given_clubs(program: &Program, case: &Case) -> BTreeMap<GroupId, Vec<Record>> {
    let mut clubs: BTreeMap<GroupId, Vec<Record>> = BTreeMap::new();
    for (group, number, field, value) in &case.given_members {
        let members = clubs.entry(*group).or_default();
        let count = usize::try_from(*number).unwrap_or(usize::MAX);
        let fields = program.groups[*group].fields.len();
        while members.len() < count {
            members.push(vec![None; fields]);
        }
        let slot = count
            .checked_sub(1)
            .and_then(|place| members.get_mut(place))
            .and_then(|record| record.get_mut(*field));
        if let Some(slot) = slot {
            *slot = Some(value.clone());
        }
    }
    clubs
}

/// Values of a range from one end to the other, both among them, each once.
fn values_between(
    program: &Program,
    input: InputId,
    from: &Value,
    to: &Value,
    points: i64,
) -> Vec<Value> {
    let value_type = program.inputs[input].value_type;
    let mut values: Vec<Value> = match (from, to, value_type) {
        (Value::Number(from), Value::Number(to), _) => {
            let is_whole = matches!(value_type, Type::Count | Type::Date);
            let point = |step: i64| number_between(*from, *to, step, points - 1, is_whole);
            (0..points).filter_map(point).map(Value::Number).collect()
        }
        (Value::Word(from), Value::Word(to), Type::Scale(scale)) => {
            let (low, high) = (from.min(to), from.max(to));
            let words = program.vocabularies[scale].values();
            words
                .into_iter()
                .filter(|word| low <= word && word <= high)
                .map(Value::Word)
                .collect()
        }
        _ => vec![from.clone(), to.clone()],
    };
    values.dedup();
    values
}

/// The point `step` of `steps` on the way from one number to another.
fn number_between(
    from: Rational,
    to: Rational,
    step: i64,
    steps: i64,
    is_whole: bool,
) -> Option<Rational> {
    if step == 0 {
        return Some(from);
    }
    if step == steps {
        return Some(to);
    }
    let share = Rational::fraction(i128::from(step), i128::from(steps)).ok()?;
    let point = to.minus(from).ok()?.times(share).ok()?.plus(from).ok()?;
    if is_whole {
        point.rounded_to(Rational::ONE, Rounding::Nearest).ok()
    } else {
        Some(point)
    }
}

fn all_combinations(values: &[(InputId, Vec<Value>)]) -> Vec<Vec<(InputId, Value)>> {
    let mut combinations: Vec<Vec<(InputId, Value)>> = vec![Vec::new()];
    for (input, candidates) in values {
        let extended = combinations.iter().flat_map(|chosen| {
            candidates.iter().map(move |value| {
                let mut longer = chosen.clone();
                longer.push((*input, value.clone()));
                longer
            })
        });
        combinations = extended.collect();
    }
    combinations
}

/// The n-th values of all ranges together; a range with fewer values stays at its last.
fn side_by_side(values: &[(InputId, Vec<Value>)]) -> Vec<Vec<(InputId, Value)>> {
    let longest = values
        .iter()
        .map(|(_, candidates)| candidates.len())
        .max()
        .unwrap_or(0);
    let at = |step: usize| {
        let value = |(input, candidates): &(InputId, Vec<Value>)| {
            Some((
                *input,
                candidates.get(step).or_else(|| candidates.last())?.clone(),
            ))
        };
        values.iter().filter_map(value).collect()
    };
    (0..longest).map(at).collect()
}
