//! The players at which a promise is tested: spread evenly over the readings that matter, always
//! the same ones.

use std::collections::BTreeMap;

use loftwright_dsl::program::{Input, InputId, Program, Type, Value};
use loftwright_dsl::quantity::{Date, Rational, Rounding};

use crate::player::{Player, Reading};

/// The first primes: one base a reading.
const BASES: [i64; 24] = [
    2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89,
];

/// A player, and the day where it is one of the readings that matter.
#[derive(Clone, Debug, Default)]
pub(super) struct Somebody {
    pub(super) readings: BTreeMap<InputId, Value>,
}

impl Somebody {
    /// The player numbered `number`: Halton points (J. H. Halton, Numerische Mathematik 2, 1960),
    /// one dimension a reading. In every third player the readings whose point lies in the lowest
    /// quarter are not given, so that what is said of absent readings is tested too.
    pub(super) fn numbered(program: &Program, inputs: &[InputId], number: i64) -> Self {
        let mut readings = BTreeMap::new();
        for (dimension, id) in inputs.iter().enumerate() {
            let base = BASES.get(dimension % BASES.len()).copied().unwrap_or(2);
            let Some(share) = radical_inverse(number, base) else {
                continue;
            };
            let input = &program.inputs[*id];
            let quarter = Rational::fraction(1, 4).unwrap_or(Rational::ZERO);
            let is_left_out = number % 3 == 2 && share < quarter && !input.filled_by_the_engine;
            if is_left_out {
                continue;
            }
            if let Some(value) = reading_at(program, input, share) {
                readings.insert(*id, value);
            }
        }
        Somebody { readings }
    }

    /// The player as the engine takes one, and the day.
    pub(super) fn player(&self, program: &Program, today: Date) -> (Player, Date) {
        let mut player = Player {
            readings: BTreeMap::new(),
            given: BTreeMap::new(),
        };
        let mut day = today;
        for (id, value) in &self.readings {
            if program.inputs[*id].filled_by_the_engine {
                let days = value.number().and_then(Rational::to_whole);
                day = days.map_or(today, Date::from_days);
                continue;
            }
            player.readings.insert(
                *id,
                Reading {
                    value: value.clone(),
                    spread: None,
                    shots: 1,
                },
            );
        }
        (player, day)
    }
}

/// The digits of a number in a base, mirrored at the point: the n-th point of a sequence that
/// fills 0 to 1 evenly.
fn radical_inverse(number: i64, base: i64) -> Option<Rational> {
    let mut left = number;
    let (mut numerator, mut denominator) = (0_i128, 1_i128);
    while left > 0 {
        numerator = numerator
            .checked_mul(i128::from(base))?
            .checked_add(i128::from(left % base))?;
        denominator = denominator.checked_mul(i128::from(base))?;
        left /= base;
    }
    Rational::fraction(numerator, denominator).ok()
}

/// The reading that lies this far on the way from the lowest to the highest; `None` where an input
/// has no range.
pub(super) fn reading_at(program: &Program, input: &Input, share: Rational) -> Option<Value> {
    let picked = |values: Vec<Value>| {
        let count = i64::try_from(values.len()).ok()?;
        let place = share.times(Rational::whole(count)).ok()?;
        let place = place.rounded_to(Rational::ONE, Rounding::Down).ok()?;
        let place = usize::try_from(place.to_whole()?).ok()?;
        values.get(place).or_else(|| values.last()).cloned()
    };
    match input.value_type {
        Type::Flag => picked(vec![Value::Flag(false), Value::Flag(true)]),
        Type::Choice(id) | Type::Scale(id) => {
            let words = program.vocabularies[id].values().into_iter();
            picked(words.map(Value::Word).collect())
        }
        Type::Text | Type::List(_) => None,
        value_type => {
            let (low, high) = input.between.as_ref()?;
            let (low, high) = (low.number()?, high.number()?);
            let value = high.minus(low).ok()?.times(share).ok()?.plus(low).ok()?;
            let is_whole = matches!(value_type, Type::Count | Type::Date);
            if is_whole {
                let whole = value.rounded_to(Rational::ONE, Rounding::Nearest).ok()?;
                return Some(Value::Number(whole.clamp(low, high)));
            }
            Some(Value::Number(value))
        }
    }
}
