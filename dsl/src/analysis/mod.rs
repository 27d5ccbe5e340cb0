//! What is proved of decision tables.
//!
//! A table is a set of boxes: every condition accepts a set of values of its column, and bounds are
//! constants. `space` cuts each column into cells on which no condition changes, so that finitely
//! many cells stand for all values; `sweep` divides the space into disjoint regions in which the
//! same rows are live. All proofs read those regions: two rows live under *unique* are an overlap,
//! none a gap, a row that never comes first is unreached. Columns are taken as independent within
//! their ranges (`ranges`), which is sound for every player.

mod cell_set;
mod merge;
mod proof;
mod space;
mod sweep;

pub use cell_set::CellSet;
pub use merge::{cut_into_runs, merged};
pub use proof::{MOST_BOXES, MOST_OVERLAPS, Overlap, TableProof, prove_table};
pub use space::{Axis, Cell, Space};
pub use sweep::{BoxRow, Region, Swept, sweep};
