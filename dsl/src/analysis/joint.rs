//! Several tables asked at once: which row of each decides, region by region of their joint space.
//!
//! A table that is asked with a column that does not apply, or that is not known, goes its own way
//! (it does not apply; its `if unknown` may decide), so the space is looked at in *situations*: on
//! each axis a value is known, or does not apply, or is not known. Within a situation the known
//! values are swept, and every table comes to one [`Deciding`] in each region.

use std::ops::ControlFlow;

use super::cell_set::CellSet;
use super::sample::inside;
use super::space::{Cell, Space};
use super::sweep::{BoxRow, Region, Swept, sweep};
use crate::program::{Column, Row, Table, Value};
use crate::syntax::tree::HitPolicy;

/// The most situations that are looked at.
const MOST_SITUATIONS: usize = 256;

/// What is known on an axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// A value.
    Known,
    /// It does not apply.
    None,
    /// It is not known.
    Unknown,
}

/// What a table comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Deciding {
    /// This row decides.
    Row(usize),
    /// Several rows are left and `if unknown` decides.
    IfUnknown,
    /// Several rows are left.
    Undecided,
    /// No row is left.
    NoRow,
    /// A column does not apply and no row asks for that.
    DoesNotApply,
}

/// A region of one situation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JointRegion {
    /// What is known on each axis.
    pub standings: Vec<Standing>,
    /// The places of known values on each axis, all of them together a box; everything where none
    /// is known.
    pub sets: Vec<CellSet>,
}

/// Several tables and their joint space.
pub struct Joint<'t> {
    /// The tables.
    pub tables: Vec<&'t Table>,
    /// Their axes.
    pub space: Space,
}

impl<'t> Joint<'t> {
    /// The tables in a space that was made of them, in this order.
    pub fn new(tables: Vec<&'t Table>, space: Space) -> Self {
        Joint { tables, space }
    }

    /// Whether something on each axis can be proved: a column of texts has no cells.
    pub fn has_cells(&self) -> bool {
        self.space.axes.iter().all(|axis| axis.known_len() > 0)
    }

    /// The situations there are: an axis may be *none* where some row asks for that, and *unknown*
    /// where some row asks for that or `may_be_unknown` says so. `None` where there are very many.
    pub fn situations(&self, may_be_unknown: &dyn Fn(usize) -> bool) -> Option<Vec<Vec<Standing>>> {
        let mut situations: Vec<Vec<Standing>> = vec![Vec::new()];
        for (index, axis) in self.space.axes.iter().enumerate() {
            let mut standings = vec![Standing::Known];
            if axis.none_place().is_some() {
                standings.push(Standing::None);
            }
            if axis.unknown_place().is_some() || may_be_unknown(index) {
                standings.push(Standing::Unknown);
            }
            let longer = situations.iter().flat_map(|situation| {
                standings.iter().map(move |standing| {
                    let mut longer = situation.clone();
                    longer.push(*standing);
                    longer
                })
            });
            situations = longer.collect();
            if situations.len() > MOST_SITUATIONS {
                return None;
            }
        }
        Some(situations)
    }

    /// Whether a table with `if unknown` looks at an axis: such a table can decide otherwise where
    /// it is not known than where it is.
    pub fn decides_if_unknown(&self, axis: usize) -> bool {
        let tables = self.tables.iter().zip(&self.space.columns);
        tables
            .filter(|(table, _)| table.if_unknown.is_some())
            .any(|(_, columns)| columns.contains(&axis))
    }

    /// Visits the regions of a situation. The axis `last` is swept last: neighbouring regions that
    /// differ on it alone are visited one after the other, from the lowest value.
    pub fn visit(
        &self,
        standings: &[Standing],
        last: Option<usize>,
        budget: usize,
        visit: &mut dyn FnMut(&JointRegion, &[Deciding]) -> ControlFlow<()>,
    ) -> Swept {
        let is_known = |axis: &usize| standings.get(*axis) == Some(&Standing::Known);
        let mut order: Vec<usize> = (0..self.space.axes.len())
            .filter(|axis| is_known(axis) && Some(*axis) != last)
            .collect();
        order.extend(last.filter(is_known));
        let length = |axis: &usize| {
            self.space
                .axes
                .get(*axis)
                .map_or(0, |axis| axis.known_len())
        };
        let lengths: Vec<usize> = order.iter().map(length).collect();
        let listed: Vec<ListedRow> = self
            .tables
            .iter()
            .enumerate()
            .flat_map(|(number, table)| self.listed_rows(number, table, standings, &order))
            .collect();
        let boxes: Vec<BoxRow> = listed.iter().map(|row| row.as_box.clone()).collect();
        let applies: Vec<bool> = (0..self.tables.len())
            .map(|number| self.applies(number, standings))
            .collect();
        sweep(&lengths, &boxes, budget, &mut |region, live| {
            let deciding: Vec<Deciding> = self
                .tables
                .iter()
                .enumerate()
                .map(|(number, table)| match applies.get(number) {
                    Some(false) => Deciding::DoesNotApply,
                    _ => deciding(table, number, &listed, live),
                })
                .collect();
            visit(&self.region(standings, &order, region), &deciding)
        })
    }

    fn region(&self, standings: &[Standing], order: &[usize], region: &Region) -> JointRegion {
        let mut sets: Vec<CellSet> = self
            .space
            .axes
            .iter()
            .map(|axis| CellSet::run(0, axis.known_len()))
            .collect();
        for (axis, found) in order.iter().zip(&region.sets) {
            if let Some(set) = sets.get_mut(*axis) {
                *set = found.clone();
            }
        }
        JointRegion {
            standings: standings.to_vec(),
            sets,
        }
    }

    /// Whether every column of a table that does not apply is asked for by some row of it.
    fn applies(&self, number: usize, standings: &[Standing]) -> bool {
        let axes = self.space.columns.get(number).into_iter().flatten();
        let columns = self.tables.get(number).map(|table| table.columns.iter());
        axes.zip(columns.into_iter().flatten())
            .all(|(axis, column)| {
                standings.get(*axis) != Some(&Standing::None) || column.takes_none
            })
    }

    fn listed_rows(
        &self,
        number: usize,
        table: &Table,
        standings: &[Standing],
        order: &[usize],
    ) -> Vec<ListedRow> {
        let mut rows: Vec<ListedRow> = table
            .rows
            .iter()
            .enumerate()
            .filter_map(|(row, declared)| self.listed(number, table, (row, declared), standings))
            .map(|(row, sets, is_certain)| ListedRow {
                table: number,
                row,
                is_certain,
                as_box: BoxRow {
                    sets: order
                        .iter()
                        .filter_map(|axis| sets.get(*axis).cloned())
                        .collect(),
                    first_of: None,
                },
            })
            .collect();
        // Behind a row that only may match, others may match too.
        if table.hit_policy == HitPolicy::First && rows.iter().all(|row| row.is_certain) {
            for row in &mut rows {
                row.as_box.first_of = Some(number);
            }
        }
        rows
    }

    /// A row that is not contradicted by what does not apply or is not known: its places on every
    /// axis, and whether nothing in it rests on what is not known.
    fn listed(
        &self,
        number: usize,
        table: &Table,
        (index, row): (usize, &Row),
        standings: &[Standing],
    ) -> Option<(usize, Vec<CellSet>, bool)> {
        let mut sets: Vec<CellSet> = self
            .space
            .axes
            .iter()
            .map(|axis| CellSet::run(0, axis.known_len()))
            .collect();
        let mut is_certain = true;
        let axes = self.space.columns.get(number)?;
        for ((axis, column), condition) in axes.iter().zip(&table.columns).zip(&row.conditions) {
            if condition.is_any {
                continue;
            }
            match standings.get(*axis) {
                Some(Standing::None) if !condition.none => return None,
                Some(Standing::Unknown) if column.takes_unknown && !condition.unknown => {
                    return None;
                }
                Some(Standing::Unknown) if !column.takes_unknown => is_certain = false,
                Some(Standing::Known) => {
                    let accepted = self.space.axes.get(*axis)?.accepted(condition);
                    let set = sets.get_mut(*axis)?;
                    *set = set.intersection(&accepted);
                    if set.is_empty() {
                        return None;
                    }
                }
                _ => {}
            }
        }
        Some((index, sets, is_certain))
    }

    /// A column that looks at an axis.
    pub fn column_of(&self, axis: usize) -> Option<&'t Column> {
        let tables = self.tables.iter().zip(&self.space.columns);
        let mut columns = tables.flat_map(|(table, axes)| table.columns.iter().zip(axes));
        columns
            .find(|(_, own)| **own == axis)
            .map(|(column, _)| column)
    }

    /// One known value of some places on an axis, a pleasant one.
    pub fn sample(&self, axis: usize, set: &CellSet) -> Option<Value> {
        let shown = &self.column_of(axis)?.shown;
        let axis = self.space.axes.get(axis)?;
        match axis.cell(set.first()?)? {
            Cell::Value(value) => Some(value),
            Cell::Point(_) | Cell::Open(..) => inside(axis, set, shown).map(Value::Number),
            Cell::None | Cell::Unknown => None,
        }
    }
}

/// A row in the list of all tables' rows.
struct ListedRow {
    table: usize,
    row: usize,
    /// Whether it is certain where it is live: none of its conditions rests on what is not known.
    is_certain: bool,
    as_box: BoxRow,
}

/// What one table comes to where these rows of the list are live.
fn deciding(table: &Table, number: usize, listed: &[ListedRow], live: &[usize]) -> Deciding {
    let mut left = None;
    let mut one_is_certain = false;
    let own = live
        .iter()
        .filter_map(|index| listed.get(*index))
        .filter(|row| row.table == number);
    for row in own {
        let is_otherwise = table.rows.get(row.row).is_some_and(|row| row.is_otherwise);
        if is_otherwise && one_is_certain {
            continue;
        }
        if left.is_some() {
            return match table.if_unknown {
                Some(_) => Deciding::IfUnknown,
                None => Deciding::Undecided,
            };
        }
        left = Some(row.row);
        one_is_certain |= row.is_certain;
        if one_is_certain && table.hit_policy == HitPolicy::First {
            break;
        }
    }
    left.map_or(Deciding::NoRow, Deciding::Row)
}
