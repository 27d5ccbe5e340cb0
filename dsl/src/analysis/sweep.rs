//! The box sweep: a space divided into regions in which the same rows are live.
//!
//! Column by column. On the first axis the rows' runs are walked from left to right; neighbouring
//! cells with the same live rows are one set, and so are cells further apart (on the last axis, a
//! run of neighbours), so that a value that means nothing new costs nothing. Each set is swept
//! along the next axis with the rows that are live in it, until no row is left or those that are
//! left cover all that remains: there the rest is one region. Regions are disjoint and together
//! they are the whole space; they come in a fixed order. (The sweep along one column after the
//! other is that of Calvanese, Dumas, Laurson, Maggi, Montali and Teinemaa, *Semantics and analysis
//! of DMN decision tables*, BPM 2016.)

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

use super::cell_set::CellSet;

/// A row as a box: the cells it accepts on each axis. With an empty set it is live nowhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoxRow {
    /// The cells it accepts, axis by axis.
    pub sets: Vec<CellSet>,
    /// Rows with the same mark go before each other in their order (hit policy *first*): where an
    /// earlier one covers all of what is left, a later one is no longer listed as live. Without a
    /// mark a row is listed wherever it is live.
    pub first_of: Option<usize>,
}

/// A part of a space: on each axis some cells, all of them together a box.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Region {
    /// The cells, axis by axis.
    pub sets: Vec<CellSet>,
}

impl Region {
    /// Whether the point, a place on each axis, lies in it.
    pub fn contains(&self, point: &[usize]) -> bool {
        self.sets.len() == point.len()
            && self
                .sets
                .iter()
                .zip(point)
                .all(|(set, place)| set.contains(*place))
    }
}

/// How a sweep ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Swept {
    /// Every region was visited.
    Whole,
    /// The visitor stopped it.
    Stopped,
    /// More boxes than the budget allows: nothing can be said of what was not visited.
    OverBudget,
}

/// Why a sweep ends before its end.
enum Halt {
    Stopped,
    OverBudget,
}

/// A box is charged once more for every so many rows that are live in it.
const LIVE_ROWS_A_BOX: usize = 32;

/// Visits disjoint regions that together are the space of `lengths` cells, each with the rows that
/// are live in all of it, in order. A space with an axis without cells is empty.
///
/// `budget` bounds the boxes that are looked at, and so the time and memory of the sweep: about a
/// microsecond a box. A table of one column is linear in its rows and needs no bound
/// (`usize::MAX`).
pub fn sweep(
    lengths: &[usize],
    rows: &[BoxRow],
    budget: usize,
    visit: &mut dyn FnMut(&Region, &[usize]) -> ControlFlow<()>,
) -> Swept {
    if lengths.contains(&0) {
        return Swept::Whole;
    }
    let full_from = rows.iter().map(|row| full_from(row, lengths)).collect();
    let live: Vec<usize> = rows
        .iter()
        .enumerate()
        .filter(|(_, row)| row.sets.iter().all(|set| !set.is_empty()))
        .map(|(number, _)| number)
        .collect();
    let groups: Option<BTreeSet<usize>> = rows.iter().map(|row| row.first_of).collect();
    let mut sweep = Sweep {
        lengths,
        rows,
        full_from,
        groups: groups.map(|groups| groups.len()),
        left: budget,
        region: Region {
            sets: lengths
                .iter()
                .map(|length| CellSet::run(0, *length))
                .collect(),
        },
        visit,
    };
    let live = sweep.without_covered(live.into_iter(), 0);
    match sweep.along(0, &live) {
        Ok(()) => Swept::Whole,
        Err(Halt::Stopped) => Swept::Stopped,
        Err(Halt::OverBudget) => Swept::OverBudget,
    }
}

/// The first axis from which on a row accepts every cell.
fn full_from(row: &BoxRow, lengths: &[usize]) -> usize {
    let is_full = |(set, length): &(&CellSet, &usize)| set.is_full(**length);
    let trailing = row
        .sets
        .iter()
        .zip(lengths)
        .rev()
        .take_while(is_full)
        .count();
    lengths.len() - trailing
}

/// What is done with a run of cells `start..end` and the rows that are live on it.
type Step<'f, S> = dyn FnMut(&mut S, Vec<usize>, usize, usize) -> Result<(), Halt> + 'f;

struct Sweep<'s> {
    lengths: &'s [usize],
    rows: &'s [BoxRow],
    full_from: Vec<usize>,
    /// How many groups there are, where every row is of one: once each has a row that covers the
    /// rest, no other row is listed.
    groups: Option<usize>,
    left: usize,
    region: Region,
    visit: &'s mut dyn FnMut(&Region, &[usize]) -> ControlFlow<()>,
}

impl Sweep<'_> {
    /// Sweeps what is left from the axis `depth` on.
    fn along(&mut self, depth: usize, live: &[usize]) -> Result<(), Halt> {
        let is_covering = |row: &usize| self.full_from.get(*row).is_none_or(|from| *from <= depth);
        if depth == self.lengths.len() || live.iter().all(is_covering) {
            return match (self.visit)(&self.region, live) {
                ControlFlow::Continue(()) => Ok(()),
                ControlFlow::Break(()) => Err(Halt::Stopped),
            };
        }
        let length = self.lengths.get(depth).copied().unwrap_or_default();
        if depth + 1 == self.lengths.len() {
            self.walk(depth, live, length, &mut |sweep, rows, start, end| {
                sweep.set(depth, CellSet::run(start, end));
                sweep.along(depth + 1, &rows)
            })?;
        } else {
            let mut parts: Vec<(Vec<usize>, CellSet)> = Vec::new();
            let mut known: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
            self.walk(depth, live, length, &mut |_, rows, start, end| {
                match known.get(&rows).and_then(|index| parts.get_mut(*index)) {
                    Some((_, set)) => set.push(start, end),
                    None => {
                        known.insert(rows.clone(), parts.len());
                        parts.push((rows, CellSet::run(start, end)));
                    }
                }
                Ok(())
            })?;
            for (rows, set) in parts {
                self.set(depth, set);
                self.along(depth + 1, &rows)?;
            }
        }
        self.set(depth, CellSet::run(0, length));
        Ok(())
    }

    fn set(&mut self, depth: usize, set: CellSet) {
        if let Some(own) = self.region.sets.get_mut(depth) {
            *own = set;
        }
    }

    /// Walks an axis from left to right; each run of cells with the same live rows is a step.
    fn walk(
        &mut self,
        depth: usize,
        live: &[usize],
        length: usize,
        step: &mut Step<'_, Self>,
    ) -> Result<(), Halt> {
        let mut events = self.events(depth, live).into_iter().peekable();
        let mut active: BTreeSet<usize> = BTreeSet::new();
        let mut under_way: Option<(Vec<usize>, usize)> = None;
        let mut at = 0;
        while at < length {
            while let Some((_, row)) = events.next_if(|(place, _)| *place == at) {
                if !active.remove(&row) {
                    active.insert(row);
                }
            }
            let rows = self.without_covered(active.iter().copied(), depth + 1);
            self.charge(1 + rows.len() / LIVE_ROWS_A_BOX)?;
            if under_way.as_ref().is_none_or(|(before, _)| *before != rows)
                && let Some((before, start)) = under_way.replace((rows, at))
            {
                step(self, before, start, at)?;
            }
            at = events.peek().map_or(length, |(place, _)| *place);
        }
        match under_way {
            Some((rows, start)) => step(self, rows, start, length),
            None => Ok(()),
        }
    }

    /// Where rows begin and end on an axis, in order. Runs of a set do not touch, so a row's own
    /// events alternate: each one turns it on or off.
    fn events(&self, depth: usize, live: &[usize]) -> Vec<(usize, usize)> {
        let mut events = Vec::with_capacity(2 * live.len());
        for number in live {
            let row = self.rows.get(*number).and_then(|row| row.sets.get(depth));
            for (start, end) in row.into_iter().flat_map(CellSet::runs) {
                events.extend([(*start, *number), (*end, *number)]);
            }
        }
        events.sort_unstable();
        events
    }

    /// Leaves out the rows that stand behind a row of the same group that covers all that is left
    /// from the axis `depth` on.
    fn without_covered(&self, live: impl Iterator<Item = usize>, depth: usize) -> Vec<usize> {
        let mut covered: Vec<usize> = Vec::new();
        let mut listed = Vec::new();
        for number in live {
            if let Some(group) = self.rows.get(number).and_then(|row| row.first_of) {
                if covered.contains(&group) {
                    continue;
                }
                let from = self.full_from.get(number);
                if from.is_some_and(|from| *from <= depth) {
                    covered.push(group);
                }
            }
            listed.push(number);
            if Some(covered.len()) == self.groups {
                break;
            }
        }
        listed
    }

    fn charge(&mut self, boxes: usize) -> Result<(), Halt> {
        match self.left.checked_sub(boxes) {
            Some(left) => {
                self.left = left;
                Ok(())
            }
            None => Err(Halt::OverBudget),
        }
    }
}
