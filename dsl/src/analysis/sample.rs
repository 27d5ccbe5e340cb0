//! Numbers that people like, picked from an interval.

use super::cell_set::CellSet;
use super::row_words::{Ends, last_whole_below};
use super::space::{Axis, first_whole_above};
use crate::program::{Shown, Type, unit_factor, usual_unit};
use crate::quantity::{Rational, Rounding};

/// An interval of numbers: its ends, each with whether it belongs to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Span {
    pub(super) low: Option<(Rational, bool)>,
    pub(super) high: Option<(Rational, bool)>,
}

impl From<Ends> for Span {
    fn from(ends: Ends) -> Self {
        Span {
            low: ends.low,
            high: ends.high,
        }
    }
}

impl Span {
    pub(super) fn holds(&self, number: Rational) -> bool {
        let above =
            |(low, is_included): (Rational, bool)| number > low || (is_included && number == low);
        let below = |(high, is_included): (Rational, bool)| {
            number < high || (is_included && number == high)
        };
        self.low.is_none_or(above) && self.high.is_none_or(below)
    }

    pub(super) fn intersection(&self, other: &Span) -> Span {
        // Of two ends at the same place the one that is left out is tighter.
        let low = match (self.low, other.low) {
            (Some(one), Some(two)) if one.0 == two.0 => Some((one.0, one.1 && two.1)),
            (Some(one), Some(two)) => Some(if one.0 > two.0 { one } else { two }),
            (one, two) => one.or(two),
        };
        let high = match (self.high, other.high) {
            (Some(one), Some(two)) if one.0 == two.0 => Some((one.0, one.1 && two.1)),
            (Some(one), Some(two)) => Some(if one.0 < two.0 { one } else { two }),
            (one, two) => one.or(two),
        };
        Span { low, high }
    }

    /// The span through a map that keeps the order of numbers, or turns it round.
    pub(super) fn mapped(
        &self,
        map: &dyn Fn(Rational) -> Option<Rational>,
        is_turned: bool,
    ) -> Option<Span> {
        let end = |end: Option<(Rational, bool)>| match end {
            Some((number, is_included)) => Some(Some((map(number)?, is_included))),
            None => Some(None),
        };
        let (low, high) = (end(self.low)?, end(self.high)?);
        Some(if is_turned {
            Span {
                low: high,
                high: low,
            }
        } else {
            Span { low, high }
        })
    }

    pub(super) fn is_empty(&self) -> bool {
        match (self.low, self.high) {
            (Some(low), Some(high)) => low.0 > high.0 || (low.0 == high.0 && !(low.1 && high.1)),
            _ => false,
        }
    }
}

/// A number of the run with few digits in the unit that is shown.
pub(super) fn inside(axis: &Axis, set: &CellSet, shown: &Shown) -> Option<Rational> {
    let (start, end) = *set.runs().first()?;
    let first_run = CellSet::run(start, end.min(axis.known_len()));
    let span = Span::from(axis.number_ends(&first_run)?);
    pleasant(span, shown, axis.value_type)
}

/// A number inside the span: the multiple of the coarsest pleasant step nearest to its middle.
pub(super) fn pleasant(span: Span, shown: &Shown, value_type: Type) -> Option<Rational> {
    if span.is_empty() {
        return None;
    }
    let unit = step_of(shown, value_type);
    let middle = match (span.low, span.high) {
        (Some((low, _)), Some((high, _))) => low.plus(high).ok()?.over(Rational::whole(2)).ok()?,
        (Some((low, _)), None) => low.plus(unit).ok()?,
        (None, Some((high, _))) => high.minus(unit).ok()?,
        (None, None) => Rational::ZERO,
    };
    let steps = [
        (10, 1),
        (5, 1),
        (1, 1),
        (1, 2),
        (1, 4),
        (1, 10),
        (1, 20),
        (1, 100),
        (1, 1_000),
    ];
    let is_whole = matches!(value_type, Type::Count | Type::Date);
    for (above, below) in steps
        .into_iter()
        .filter(|(_, below)| !is_whole || *below == 1)
    {
        let Ok(step) = Rational::fraction(above, below).and_then(|step| step.times(unit)) else {
            continue;
        };
        let near = middle.rounded_to(step, Rounding::Nearest);
        if let Ok(near) = near
            && span.holds(near)
        {
            return Some(near);
        }
    }
    if is_whole {
        let ends = [span.low.map(|low| low.0), span.high.map(|high| high.0)];
        let near = ends.into_iter().flatten().flat_map(|end| {
            [
                Some(end).filter(|end| end.is_whole()),
                first_whole_above(end),
                last_whole_below(end),
            ]
        });
        return near.flatten().find(|number| span.holds(*number));
    }
    if span.holds(middle) {
        return Some(middle);
    }
    span.low.map(|low| low.0)
}

/// One of the unit that is shown, in base units.
fn step_of(shown: &Shown, value_type: Type) -> Rational {
    let Type::Quantity(dimension) = value_type else {
        return Rational::ONE;
    };
    let unit = shown.unit.as_deref().unwrap_or(usual_unit(dimension));
    unit_factor(unit)
        .filter(|factor| !factor.is_zero())
        .unwrap_or(Rational::ONE)
}
