//! The range of one reading, cut into points and the open pieces between them.

use std::collections::BTreeSet;

use loftwright_dsl::program::{InputId, Program, Type, Value};
use loftwright_dsl::quantity::{Rational, Rounding};

/// A range of counts or days with no more values than this is tried value by value.
const MOST_WHOLE_VALUES: i64 = 100;

/// The range of one reading.
#[derive(Clone, Debug)]
pub(super) struct Axis {
    pub(super) input: InputId,
    values: Values,
}

#[derive(Clone, Debug)]
enum Values {
    /// Every value there is.
    Each(Vec<Value>),
    /// Numbers, cut at these: the ends among them.
    Cut {
        cuts: BTreeSet<Rational>,
        is_whole: bool,
    },
}

/// A piece of an axis.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Stretch {
    /// One value.
    At(Value),
    /// Between two cuts: both, and two values strictly between them (the same one twice where
    /// there is only one).
    Between {
        low: Rational,
        high: Rational,
        inside: (Rational, Rational),
    },
}

impl Axis {
    /// The range from one value to another, both among it.
    pub(super) fn new(program: &Program, input: InputId, from: &Value, to: &Value) -> Self {
        let (from, to) = (from.min(to), from.max(to));
        let value_type = program.inputs[input].value_type;
        let values = match (from, to, value_type) {
            (Value::Number(low), Value::Number(high), _) => {
                let is_whole = matches!(value_type, Type::Count | Type::Date);
                match whole_values(*low, *high).filter(|_| is_whole) {
                    Some(values) => Values::Each(values),
                    None => Values::Cut {
                        cuts: BTreeSet::from([*low, *high]),
                        is_whole,
                    },
                }
            }
            (Value::Word(low), Value::Word(high), Type::Choice(id) | Type::Scale(id)) => {
                let words = program.vocabularies[id].values().into_iter();
                let inside = words.filter(|word| low <= word && word <= high);
                Values::Each(inside.map(Value::Word).collect())
            }
            _ if from == to => Values::Each(vec![from.clone()]),
            _ => Values::Each(vec![from.clone(), to.clone()]),
        };
        Axis { input, values }
    }

    /// Cuts the range; whether it was not cut there before.
    pub(super) fn cut(&mut self, at: Rational) -> bool {
        match &mut self.values {
            Values::Each(_) => false,
            Values::Cut { cuts, .. } => cuts.insert(at),
        }
    }

    /// The pieces, in order.
    pub(super) fn stretches(&self) -> Vec<Stretch> {
        let (cuts, is_whole) = match &self.values {
            Values::Each(values) => return values.iter().cloned().map(Stretch::At).collect(),
            Values::Cut { cuts, is_whole } => (cuts, *is_whole),
        };
        let mut stretches = Vec::new();
        let mut before: Option<Rational> = None;
        for cut in cuts {
            if let Some(low) = before
                && let Some(inside) = inside(low, *cut, is_whole)
            {
                let high = *cut;
                stretches.push(Stretch::Between { low, high, inside });
            }
            if !is_whole || cut.is_whole() {
                stretches.push(Stretch::At(Value::Number(*cut)));
            }
            before = Some(*cut);
        }
        stretches
    }
}

fn whole_values(low: Rational, high: Rational) -> Option<Vec<Value>> {
    let low = low
        .rounded_to(Rational::ONE, Rounding::Up)
        .ok()?
        .to_whole()?;
    let high = high
        .rounded_to(Rational::ONE, Rounding::Down)
        .ok()?
        .to_whole()?;
    let is_short = high.checked_sub(low)? < MOST_WHOLE_VALUES;
    is_short.then(|| {
        (low..=high)
            .map(|whole| Value::Number(Rational::whole(whole)))
            .collect()
    })
}

/// Two values strictly between two others, as far apart as is easy.
fn inside(low: Rational, high: Rational, is_whole: bool) -> Option<(Rational, Rational)> {
    if is_whole {
        let down = low.rounded_to(Rational::ONE, Rounding::Down).ok()?;
        let up = high.rounded_to(Rational::ONE, Rounding::Up).ok()?;
        let (first, last) = (
            down.plus(Rational::ONE).ok()?,
            up.minus(Rational::ONE).ok()?,
        );
        return (first <= last).then_some((first, last));
    }
    let quarter = high.minus(low).ok()?.over(Rational::whole(4)).ok()?;
    let first = low.plus(quarter).ok()?;
    let middle = first.plus(quarter).ok()?;
    (low < middle && middle < high).then_some((middle, first))
}
