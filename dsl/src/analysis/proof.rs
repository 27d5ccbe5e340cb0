//! One table proved: its overlaps, its gaps, the rows that are never reached.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use super::merge::merged;
use super::space::{Axis, Space};
use super::sweep::{Region, Swept, sweep};
use crate::program::{Program, Table};
use crate::syntax::tree::HitPolicy;

/// The most boxes of the proof of a table of several columns.
pub const MOST_BOXES: usize = 200_000;
/// The most overlaps of a table that are looked for.
pub const MOST_OVERLAPS: usize = 1_000;

/// What a proof found.
#[derive(Clone, Debug)]
pub struct TableProof {
    /// The cells of the columns.
    pub space: Space,
    /// Under *unique*, every pair of rows that match the same player: the earlier row first, with
    /// the first region in which both are live. Ordered by the later row.
    pub overlaps: Vec<Overlap>,
    /// Where no row matches, merged; empty where the table ends with `otherwise`.
    pub gaps: Vec<Region>,
    /// The rows that decide nowhere: outside the columns' ranges, or covered by the rows before
    /// them.
    pub unreached: Vec<usize>,
    /// Whether every box was looked at. If not, the table is beyond [`MOST_BOXES`] or has
    /// [`MOST_OVERLAPS`]; then only the overlaps found so far are here.
    pub is_whole: bool,
}

/// Two rows that match the same player.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Overlap {
    /// The earlier row.
    pub one: usize,
    /// The later row.
    pub other: usize,
    /// Where both match.
    pub region: Region,
}

/// Proves one table over the ranges of its columns, taken as independent.
///
/// A table of several columns is looked at in at most [`MOST_BOXES`] boxes; one of a single column
/// is always proved, in time linear in its rows but for sorting them.
pub fn prove_table(program: &Program, table: &Table) -> TableProof {
    let space = Space::of_table(program, table);
    let rows = space.rows_of(0, table);
    let has_otherwise = table.rows.last().is_some_and(|row| row.is_otherwise);
    let plain = rows.len() - usize::from(has_otherwise);
    let budget = match space.axes.len() {
        0 | 1 => usize::MAX,
        _ => MOST_BOXES,
    };
    let mut found = Found {
        is_unique: table.hit_policy == HitPolicy::Unique,
        pairs: BTreeSet::new(),
        overlaps: Vec::new(),
        open: Vec::new(),
        is_reached: vec![space.axes.iter().any(Axis::is_empty); rows.len()],
    };
    let swept = sweep(
        &space.lengths(),
        rows.get(..plain).unwrap_or(&rows),
        budget,
        &mut |region, live| found.visit(region, live, plain),
    );
    let is_whole = swept == Swept::Whole;
    let mut overlaps = found.overlaps;
    overlaps.sort_by_key(|overlap| (overlap.other, overlap.one));
    let unreached = found.is_reached.iter().enumerate();
    let unreached = unreached.filter(|(_, is_reached)| is_whole && !**is_reached);
    let is_open = is_whole && !has_otherwise;
    TableProof {
        space,
        overlaps,
        gaps: merged(if is_open { found.open } else { Vec::new() }),
        unreached: unreached.map(|(number, _)| number).collect(),
        is_whole,
    }
}

/// What the regions visited so far say.
struct Found {
    is_unique: bool,
    pairs: BTreeSet<(usize, usize)>,
    overlaps: Vec<Overlap>,
    open: Vec<Region>,
    is_reached: Vec<bool>,
}

impl Found {
    /// `plain` is the number of rows that are not `otherwise`: the number of that row, if any.
    fn visit(&mut self, region: &Region, live: &[usize], plain: usize) -> ControlFlow<()> {
        if live.is_empty() {
            self.open.push(region.clone());
            self.reach(plain);
        }
        let deciding = if self.is_unique { live.len() } else { 1 };
        for (place, other) in live.iter().enumerate().take(deciding) {
            self.reach(*other);
            for one in live.iter().take(place) {
                if self.pairs.len() == MOST_OVERLAPS {
                    return ControlFlow::Break(());
                }
                if self.pairs.insert((*one, *other)) {
                    self.overlaps.push(Overlap {
                        one: *one,
                        other: *other,
                        region: region.clone(),
                    });
                }
            }
        }
        ControlFlow::Continue(())
    }

    fn reach(&mut self, row: usize) {
        if let Some(is_reached) = self.is_reached.get_mut(row) {
            *is_reached = true;
        }
    }
}
