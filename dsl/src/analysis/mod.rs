//! What is proved of decision tables.
//!
//! A table is a set of boxes: every condition accepts a set of values of its column, and bounds are
//! constants. `space` cuts each column into cells on which no condition changes, so that finitely
//! many cells stand for all values; `sweep` divides the space into disjoint regions in which the
//! same rows are live. All proofs read those regions: two rows live under *unique* are an overlap,
//! none a gap, a row that never comes first is unreached. Columns are taken as independent within
//! their ranges (`ranges`), which is sound for every player.

mod affine;
mod along;
mod cell_set;
mod compare;
mod divisors;
mod findings;
mod given_words;
mod goal;
mod guards;
mod guess;
mod joint;
mod landmarks;
mod literal;
mod merge;
mod promise;
mod proof;
mod ranges;
mod reach;
mod row_words;
mod sample;
mod sentence;
mod space;
mod sweep;
mod witness;
mod worth;

pub use along::{AlongProof, prove_along};
pub use cell_set::CellSet;
pub use compare::{
    Change, ComparedAxis, ComparedRegion, ComparedRows, Comparison, How, Identity, LineChange,
    MOST_REGIONS_SHOWN, Named, OutcomeSide, RegionChange, RowSide, Side, Version, compare,
    compare_rows,
};
pub(crate) use divisors::{DividesAs, Divisor, rests_on, zero_divisors};
pub(crate) use findings::table_findings;
pub use findings::{MOST_GAPS_SHOWN, MOST_OVERLAPS_SHOWN};
pub(crate) use given_words::GivenWords;
pub use joint::{Deciding, Joint, JointRegion, Standing};
pub use literal::literal_text;
pub use merge::{cut, merged};
pub use promise::{CounterExample, Player, PromiseProof, prove_promise};
pub use proof::{MOST_BOXES, MOST_OVERLAPS, Overlap, TableProof, prove_table};
pub(crate) use ranges::Ranges;
pub use row_words::{condition_text, cut_into_rows, row_text};
pub use space::{Axis, Cell, Space};
pub use sweep::{BoxRow, Region, Swept, sweep};
pub use witness::{MOST_TRIES, Search, find_player};
pub use worth::{Formula, Worth, worth};
