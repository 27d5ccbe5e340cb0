//! The next reading that would settle most.
//!
//! *Missing readings first.* Every decision and choice that waits is shared out among what it waits
//! for: one that waits for two readings counts half for each. The reading with the most is the
//! next; of equals the first by name. It is then tried out: with each of its plausible values, how
//! many of the decisions that wait are settled?
//!
//! *Where nothing waits*, of the readings that are uncertain or were assumed, the one whose
//! plausible values split the outcomes most. For one decision the split is the chance that two
//! plausible values, taken independently, give different outcomes: 1 − Σ share². The splits of all
//! decisions and clubs are added up, exactly.
//!
//! Plausible values: of an uncertain reading those of the fixed scan, weighed as the normal
//! distribution has it; of one that was not given each word, yes and no, or the middles of eight
//! equal parts of what the input may be. A default that was assumed weighs as much as all the other
//! values together.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::program::{InputId, Node, Program, Type, Value, VocabularyKind};
use loftwright_dsl::quantity::{Rational, Rounding};

use super::along::{Along, SCANNED_SPREADS};
use super::base::Base;
use super::outcome::Seen;
use super::places::Moving;
use crate::explain::{View, causes_of};
use crate::outcome::{Cause, Outcome, Place};
use crate::recommendation::{NextReading, ReadingState, SettlesBetween};
use crate::trace::How;

/// The weights of the scan's values from the middle outwards, in ten-thousandths: the normal
/// distribution over a spread each, the tail with the last. Φ from tables: Φ(0.5) = 0.69146,
/// Φ(1.5) = 0.93319, Φ(2.5) = 0.99379.
const SCAN_WEIGHTS: [i64; 4] = [3830, 2417, 606, 62];

/// A range is looked at in the middles of so many equal parts.
const PARTS_OF_RANGE: i64 = 8;

/// How much a reading splits the outcomes, and which.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Split {
    /// The reading.
    pub(crate) input: InputId,
    /// The sum over decisions and clubs.
    sum: Rational,
    /// The places that may turn, each with its own split.
    places: Vec<(Place, Rational)>,
}

impl Split {
    /// From what each value gives otherwise, with its weight.
    fn of(input: InputId, values: &[(i64, BTreeMap<Place, Seen>)]) -> Option<Self> {
        let all: i64 = values.iter().map(|(weight, _)| weight).sum();
        let mut weights: BTreeMap<Place, BTreeMap<&Seen, i64>> = BTreeMap::new();
        for (weight, seen) in values {
            for (place, seen) in seen {
                *weights.entry(*place).or_default().entry(seen).or_default() += weight;
            }
        }
        let mut split = Split {
            input,
            sum: Rational::ZERO,
            places: Vec::new(),
        };
        for (place, others) in weights {
            let same = all - others.values().sum::<i64>();
            let squares = others.values().map(|weight| weight * weight).sum::<i64>() + same * same;
            let squared = i128::from(all) * i128::from(all);
            let chance = Rational::fraction(squared - i128::from(squares), squared).ok()?;
            split.sum = split.sum.plus(chance).ok()?;
            split.places.push((place, chance));
        }
        Some(split)
    }

    /// The split along an uncertain reading.
    pub(crate) fn along(along: &mut Along<'_, '_>, moving: &mut Moving<'_>) -> Option<Self> {
        let mut values = Vec::new();
        for spreads in -SCANNED_SPREADS..=SCANNED_SPREADS {
            let place = usize::try_from(spreads.unsigned_abs()).ok()?;
            let weight = SCAN_WEIGHTS.get(place).copied()?;
            let seen = match along.scan_value(spreads) {
                Some(value) if spreads != 0 => along.at(moving, value).clone(),
                _ => BTreeMap::new(),
            };
            values.push((weight, seen));
        }
        Split::of(along.reading.input, &values)
    }

    /// The split over the values that a reading might have that was assumed.
    pub(crate) fn assumed(
        view: &View<'_>,
        base: &Base,
        moving: &mut Moving<'_>,
        input: InputId,
    ) -> Option<Self> {
        let given = view.program.inputs[input].default.as_ref();
        let others: Vec<Value> = plausible(view.program, input)
            .into_iter()
            .filter(|value| Some(value) != given)
            .collect();
        let mut values = vec![(i64::try_from(others.len()).ok()?, BTreeMap::new())];
        for value in others {
            let mut seen = moving.outcomes(base, &[(input, value)], None);
            seen.retain(|place, seen| !base.is_same(view, *place, seen));
            values.push((1, seen));
        }
        Split::of(input, &values)
    }
}

/// The values that a reading might have that was not given.
fn plausible(program: &Program, input: InputId) -> Vec<Value> {
    let declared = &program.inputs[input];
    match declared.value_type {
        Type::Flag => vec![Value::Flag(false), Value::Flag(true)],
        Type::Choice(id) | Type::Scale(id) => {
            let vocabulary = &program.vocabularies[id];
            let step = match vocabulary.kind {
                VocabularyKind::Choice => 1,
                VocabularyKind::Scale { .. } => 2,
            };
            let words = i32::try_from(vocabulary.words.len()).unwrap_or(0);
            (0..words).map(|word| Value::Word(word * step)).collect()
        }
        _ => parts_of_range(
            declared.between.as_ref(),
            declared.value_type == Type::Count,
        ),
    }
}

/// The middles of eight equal parts of a range; whole numbers where things are counted.
fn parts_of_range(between: Option<&(Value, Value)>, is_count: bool) -> Vec<Value> {
    let ends = between.and_then(|(low, high)| Some((low.number()?, high.number()?)));
    let Some((low, high)) = ends else {
        return Vec::new();
    };
    let middle = |part: i64| {
        let share = Rational::fraction(i128::from(2 * part + 1), i128::from(2 * PARTS_OF_RANGE));
        let value = low.plus(high.minus(low)?.times(share?)?)?;
        if is_count {
            return value.rounded_to(Rational::ONE, Rounding::Nearest);
        }
        Ok(value)
    };
    let values: BTreeSet<Rational> = (0..PARTS_OF_RANGE).flat_map(middle).collect();
    values.into_iter().map(Value::Number).collect()
}

/// A missing reading.
pub(crate) struct Missing {
    input: InputId,
    /// What is to be said of it without trying.
    pub(crate) next: NextReading,
}

/// The missing reading that decisions wait for most; `None` where none waits for a reading.
pub(crate) fn missing(view: &View<'_>) -> Option<Missing> {
    let mut weights: BTreeMap<InputId, (Rational, Vec<Place>)> = BTreeMap::new();
    for entry in view.evaluated() {
        if !matches!(entry.place.node, Node::Decision(_) | Node::Choose(_)) {
            continue;
        }
        let (causes, _) = causes_of(entry.outcome);
        let count = i128::try_from(causes.len()).ok()?;
        for cause in &causes {
            if let Cause::Reading(input) = cause {
                let of = weights
                    .entry(*input)
                    .or_insert((Rational::ZERO, Vec::new()));
                of.0 = of.0.plus(Rational::fraction(1, count).ok()?).ok()?;
                of.1.push(entry.place);
            }
        }
    }
    let (input, (_, places)) = weights.into_iter().max_by(|left, right| {
        let by_weight = left.1.0.cmp(&right.1.0);
        by_weight.then_with(|| name(view, right.0).cmp(name(view, left.0)))
    })?;
    let next = report(view, input, ReadingState::Missing, &places);
    Some(Missing { input, next })
}

/// The same, with how much it settles.
pub(crate) fn tried(
    view: &View<'_>,
    base: &Base,
    moving: &mut Moving<'_>,
    missing: Missing,
) -> NextReading {
    NextReading {
        settles: settles(view, base, moving, missing.input),
        ..missing.next
    }
}

/// How many of the places that wait come to something else with the reading, over its plausible
/// values.
fn settles(
    view: &View<'_>,
    base: &Base,
    moving: &mut Moving<'_>,
    input: InputId,
) -> Option<SettlesBetween> {
    let counts: Vec<usize> = plausible(view.program, input)
        .into_iter()
        .map(|value| {
            let seen = moving.outcomes(base, &[(input, value)], None);
            let settled =
                |(place, seen): &(&Place, &Seen)| base.is_waiting(**place) && !seen.is_waiting();
            seen.iter().filter(settled).count()
        })
        .collect();
    Some(SettlesBetween {
        least: *counts.iter().min()?,
        most: *counts.iter().max()?,
    })
}

/// Of the splits, the largest; of equals the first by name. `None` where nothing turns.
pub(crate) fn largest(view: &View<'_>, splits: Vec<Split>) -> Option<NextReading> {
    let best = splits.into_iter().max_by(|left, right| {
        let by_sum = left.sum.cmp(&right.sum);
        by_sum.then_with(|| name(view, right.input).cmp(name(view, left.input)))
    })?;
    if best.sum.is_zero() {
        return None;
    }
    let mut places = best.places;
    // A stable sort: equals stay in the order of the program.
    places.sort_by_key(|(_, chance)| Reverse(*chance));
    let state = if view.player.readings.contains_key(&best.input) {
        ReadingState::Uncertain
    } else {
        ReadingState::Assumed
    };
    let places: Vec<Place> = places.into_iter().map(|(place, _)| place).collect();
    Some(report(view, best.input, state, &places))
}

/// The inputs for which a default stands in.
pub(crate) fn assumed_inputs(view: &View<'_>) -> Vec<InputId> {
    let assumed = view.evaluated().iter().filter_map(|entry| {
        match (entry.place.node, &entry.how, &entry.outcome) {
            (Node::Input(id), How::Assumed, Outcome::Decided(_)) => Some(id),
            _ => None,
        }
    });
    assumed.collect()
}

fn report(view: &View<'_>, input: InputId, state: ReadingState, places: &[Place]) -> NextReading {
    let mut decisions: Vec<String> = Vec::new();
    for place in places {
        let name = view.name_of(place.node);
        if !decisions.iter().any(|known| known == name) {
            decisions.push(name.to_owned());
        }
    }
    NextReading {
        input: name(view, input).to_owned(),
        ask: view.program.inputs[input].ask.clone(),
        state,
        decisions,
        outcomes: places.len(),
        settles: None,
    }
}

fn name<'a>(view: &View<'a>, input: InputId) -> &'a str {
    &view.program.inputs[input].name
}
