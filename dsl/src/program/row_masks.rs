//! Which rows of a table accept what its columns are, as bits.
//!
//! Most tables have a few rows. For each value of a column the rows that accept it are one word,
//! worked out beforehand, and the rows that accept all columns are what those words have in common.

use super::cuts::Cuts;
use super::{Column, Condition, Row, Value, ValueSet};

/// The words of a column lie no further apart than this.
const MOST_WORDS: usize = 256;

/// The rows of a table, a bit for each in their order, by what a column is. `otherwise` accepts
/// everything.
#[derive(Clone, Debug)]
pub struct RowMasks {
    columns: Vec<ColumnMasks>,
    all: u64,
    otherwise: u64,
}

#[derive(Clone, Debug)]
struct ColumnMasks {
    values: ValueMasks,
    none: u64,
    unknown: u64,
}

#[derive(Clone, Debug)]
enum ValueMasks {
    /// No row asks for a value.
    Any(u64),
    /// By the cell of a number.
    Numbers(Cuts, Vec<u64>),
    /// By the word, from the least on; the last one for all others.
    Words(i32, Vec<u64>, u64),
    /// No and yes.
    Flags([u64; 2]),
}

impl RowMasks {
    /// Those of a table; none where it has more rows than bits, or asks for texts.
    pub(super) fn of(columns: &[Column], rows: &[Row]) -> Option<Self> {
        let mut all = 0_u64;
        let mut otherwise = 0;
        for (bit, row) in bits(rows)? {
            all |= bit;
            if row.is_otherwise {
                otherwise |= bit;
            }
        }
        let masks = (0..columns.len()).map(|column| ColumnMasks::of(column, rows));
        Some(RowMasks {
            columns: masks.collect::<Option<_>>()?,
            all,
            otherwise,
        })
    }

    /// All rows.
    pub fn all(&self) -> u64 {
        self.all
    }

    /// The row `otherwise`, if there is one.
    pub fn otherwise(&self) -> u64 {
        self.otherwise
    }

    /// The rows that accept a known value of a column.
    pub fn accepting(&self, column: usize, value: &Value) -> Option<u64> {
        match (&self.columns.get(column)?.values, value) {
            (ValueMasks::Any(rows), _) => Some(*rows),
            (ValueMasks::Numbers(cuts, rows), Value::Number(number)) => {
                rows.get(cuts.cell_of(*number)).copied()
            }
            (ValueMasks::Words(least, rows, others), Value::Word(word)) => {
                let place = word.checked_sub(*least);
                let place = place.and_then(|place| usize::try_from(place).ok());
                let known = place.and_then(|place| rows.get(place));
                Some(known.copied().unwrap_or(*others))
            }
            (ValueMasks::Flags([no, yes]), Value::Flag(flag)) => {
                Some(if *flag { *yes } else { *no })
            }
            _ => None,
        }
    }

    /// The rows that accept that a column does not apply.
    pub fn accepting_none(&self, column: usize) -> Option<u64> {
        Some(self.columns.get(column)?.none)
    }

    /// The rows that accept an absent reading in a column.
    pub fn accepting_unknown(&self, column: usize) -> Option<u64> {
        Some(self.columns.get(column)?.unknown)
    }
}

impl ColumnMasks {
    fn of(column: usize, rows: &[Row]) -> Option<Self> {
        Some(ColumnMasks {
            values: ValueMasks::of(column, rows)?,
            none: accepting(column, rows, |condition| condition.none)?,
            unknown: accepting(column, rows, |condition| condition.unknown)?,
        })
    }
}

impl ValueMasks {
    fn of(column: usize, rows: &[Row]) -> Option<Self> {
        let by_value = |value: &Value| accepting(column, rows, |it| it.values.contains(value));
        let conditions = rows.iter().filter_map(|row| row.conditions.get(column));
        let asked = conditions
            .filter(|condition| !condition.is_any)
            .map(|condition| &condition.values);
        let first = asked
            .clone()
            .find(|values| !matches!(values, ValueSet::All));
        match first {
            None => Some(ValueMasks::Any(accepting(column, rows, |condition| {
                matches!(condition.values, ValueSet::All)
            })?)),
            Some(ValueSet::Flags(_)) => Some(ValueMasks::Flags([
                by_value(&Value::Flag(false))?,
                by_value(&Value::Flag(true))?,
            ])),
            Some(ValueSet::Words(_)) => {
                let words = asked.filter_map(|values| match values {
                    ValueSet::Words(words) => Some(words.iter().copied()),
                    _ => None,
                });
                let words: Vec<i32> = words.flatten().collect();
                let least = words.iter().min().copied().unwrap_or_default();
                let most = words.iter().max().copied().unwrap_or_default();
                let span = usize::try_from(most.checked_sub(least)?).ok()?;
                if span >= MOST_WORDS {
                    return None;
                }
                let masks = (least..=most).map(|word| by_value(&Value::Word(word)));
                let others = accepting(column, rows, |condition| {
                    matches!(condition.values, ValueSet::All)
                })?;
                let masks = masks.collect::<Option<_>>()?;
                Some(ValueMasks::Words(least, masks, others))
            }
            Some(ValueSet::Intervals(_)) => {
                let cuts = Cuts::of(column, rows);
                let mut masks = vec![0; cuts.cells()];
                for (bit, row) in bits(rows)? {
                    for (first, last) in cells_of(&cuts, row.conditions.get(column)) {
                        let cells = masks.get_mut(first..=last).unwrap_or_default();
                        cells.iter_mut().for_each(|mask| *mask |= bit);
                    }
                }
                Some(ValueMasks::Numbers(cuts, masks))
            }
            Some(ValueSet::All | ValueSet::Texts(_)) => None,
        }
    }
}

/// The cells that a condition accepts, from first to last; all for a row without one.
fn cells_of(cuts: &Cuts, condition: Option<&Condition>) -> Vec<(usize, usize)> {
    match condition {
        Some(Condition {
            is_any: false,
            values: ValueSet::Intervals(intervals),
            ..
        }) => {
            let cells_of = |interval| cuts.cells_of(interval);
            intervals.iter().filter_map(cells_of).collect()
        }
        _ => vec![(0, cuts.cells() - 1)],
    }
}

/// The rows with a condition that holds in a column, with `any` and with no condition at all.
fn accepting(column: usize, rows: &[Row], holds: impl Fn(&Condition) -> bool) -> Option<u64> {
    let accepts = |row: &Row| {
        let condition = row.conditions.get(column);
        condition.is_none_or(|condition| condition.is_any || holds(condition))
    };
    let accepting = bits(rows)?.filter(|(_, row)| accepts(row));
    Some(accepting.fold(0, |mask, (bit, _)| mask | bit))
}

/// Each row with its bit; `None` where there are more rows than bits.
fn bits(rows: &[Row]) -> Option<impl Iterator<Item = (u64, &Row)>> {
    let places = (0..u64::BITS).map(|place| 1_u64 << place);
    let has_room = u32::try_from(rows.len()).is_ok_and(|count| count <= u64::BITS);
    has_room.then(|| places.zip(rows))
}
