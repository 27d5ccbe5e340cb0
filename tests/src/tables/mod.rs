//! Made-up decision tables with a matcher of their own, as plain as it can be.
//!
//! A table here knows nothing of the language: its columns lie on whole *ticks*, its rows ask for
//! ticks, and [`Table::live_rows`] looks at every row for one point. `write` writes the table as
//! rules, `generate` makes tables up. What the checker finds and what the engine decides is then
//! compared with what the matcher says at every point of the grid.
//!
//! The bounds of a continuous column lie on even ticks, so the odd ticks stand for everything
//! between two bounds: a grid of all ticks misses nothing.

mod generate;
mod grid;
mod promise;
mod read;
mod write;

pub use generate::{Shape, table, table_with};
pub use promise::{Promised, promised};
pub use write::Written;

/// What kind of values a column has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Domain {
    /// A length; a tick is an eighth of an inch, bounds lie on quarters.
    Length,
    /// A plain number; a tick is a half, bounds are whole.
    Number,
    /// A count; a tick is one.
    Count,
    /// A day of January 2024; a tick is a day.
    Date,
    /// An ordered list; a tick is half a step.
    ScaleInHalves,
    /// An ordered list; a tick is a step.
    Scale,
    /// A closed list; a tick is a word.
    Choice,
    /// Yes (1) or no (0).
    Flag,
}

impl Domain {
    /// Every kind.
    pub const ALL: [Domain; 8] = [
        Domain::Length,
        Domain::Number,
        Domain::Count,
        Domain::Date,
        Domain::ScaleInHalves,
        Domain::Scale,
        Domain::Choice,
        Domain::Flag,
    ];

    /// Whether there are values between two bounds that lie beside each other.
    pub fn is_continuous(self) -> bool {
        matches!(self, Domain::Length | Domain::Number)
    }

    /// Whether its values have an order that rows can ask for.
    pub fn is_ordered(self) -> bool {
        !matches!(self, Domain::Choice | Domain::Flag)
    }

    /// How many ticks lie between two bounds.
    pub fn bound_step(self) -> i64 {
        if self.is_continuous() { 2 } else { 1 }
    }
}

/// A column and the reading behind it.
#[derive(Clone, Debug)]
pub struct Column {
    /// The name of the reading.
    pub name: String,
    /// What kind of values it has.
    pub domain: Domain,
    /// The lowest tick of the column.
    pub low: i64,
    /// The highest tick of the column.
    pub high: i64,
    /// Whether the reading may be none: it is asked for only when a flag says so.
    pub may_be_none: bool,
    /// Whether the column is a let, the negative of the reading.
    pub is_negated: bool,
}

/// One value that a condition lists.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Listed {
    /// A tick.
    At(i64),
    /// `none`.
    None,
    /// `unknown`.
    Unknown,
}

/// What a row asks of a column, in ticks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Condition {
    /// `any`
    Any,
    /// `under b`
    Under(i64),
    /// `up to b`
    UpTo(i64),
    /// `over a`
    Over(i64),
    /// `a or more`
    OrMore(i64),
    /// `a through b`
    Through(i64, i64),
    /// `a to under b`
    ToUnder(i64, i64),
    /// `over a through b`
    OverThrough(i64, i64),
    /// `over a to under b`
    OverToUnder(i64, i64),
    /// `a or b`
    OneOf(Vec<Listed>),
    /// `not a or b`
    NotOneOf(Vec<Listed>),
}

/// Where a player stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Point {
    /// At a tick.
    Value(i64),
    /// It does not apply.
    None,
    /// Nobody knows.
    Unknown,
}

/// A table of rows; row `n` gives the number `results[n]`.
#[derive(Clone, Debug)]
pub struct Table {
    /// The decision's name.
    pub name: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows' conditions, one a column.
    pub rows: Vec<Vec<Condition>>,
    /// Whether `otherwise` follows as the last row.
    pub has_otherwise: bool,
    /// *First*; else *unique*.
    pub is_first: bool,
    /// What `if unknown` gives, where the header has it.
    pub if_unknown: Option<i64>,
    /// What each row gives, `otherwise` the last.
    pub results: Vec<i64>,
}

/// What a table comes to for a player.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Answer {
    /// This row decides.
    Row(usize),
    /// Readings are missing.
    Undecided,
    /// A column does not apply.
    DoesNotApply,
    /// No row is left.
    NoRow,
}

impl Condition {
    /// Whether it takes the value, where none and unknown are values of the column.
    pub fn takes(&self, point: Point) -> bool {
        let tick = match (point, self) {
            (_, Condition::Any) => return true,
            (Point::Value(tick), _) => tick,
            (Point::None, Condition::OneOf(listed)) => return listed.contains(&Listed::None),
            (Point::Unknown, Condition::OneOf(listed)) => return listed.contains(&Listed::Unknown),
            (Point::None | Point::Unknown, _) => return false,
        };
        match self {
            Condition::Any => true,
            Condition::Under(high) => tick < *high,
            Condition::UpTo(high) => tick <= *high,
            Condition::Over(low) => tick > *low,
            Condition::OrMore(low) => tick >= *low,
            Condition::Through(low, high) => tick >= *low && tick <= *high,
            Condition::ToUnder(low, high) => tick >= *low && tick < *high,
            Condition::OverThrough(low, high) => tick > *low && tick <= *high,
            Condition::OverToUnder(low, high) => tick > *low && tick < *high,
            Condition::OneOf(listed) => listed.contains(&Listed::At(tick)),
            Condition::NotOneOf(listed) => !listed.contains(&Listed::At(tick)),
        }
    }

    /// Whether it names such a value, to take it or to leave it out.
    pub fn names(&self, value: Listed) -> bool {
        match self {
            Condition::OneOf(listed) | Condition::NotOneOf(listed) => listed.contains(&value),
            _ => false,
        }
    }
}

impl Table {
    /// Whether `none`, or `unknown`, is a value of a column: some row names it there.
    pub fn names(&self, column: usize, value: Listed) -> bool {
        self.rows.iter().any(|row| row[column].names(value))
    }

    /// The number of rows, `otherwise` among them.
    pub fn row_count(&self) -> usize {
        self.rows.len() + usize::from(self.has_otherwise)
    }

    /// The rows that take a point of the grid; `otherwise` where no other does.
    pub fn live_rows(&self, point: &[Point]) -> Vec<usize> {
        let takes = |row: &Vec<Condition>| {
            row.iter()
                .zip(point)
                .all(|(condition, at)| condition.takes(*at))
        };
        let mut live: Vec<usize> = (0..self.rows.len())
            .filter(|row| takes(&self.rows[*row]))
            .collect();
        if live.is_empty() && self.has_otherwise {
            live.push(self.rows.len());
        }
        live
    }

    /// What the table comes to for a player: a row is out when a known reading contradicts it; if
    /// exactly one row is not out, it decides.
    pub fn answer(&self, player: &[Point]) -> Answer {
        let is_open = |column: usize| {
            player[column] == Point::Unknown && !self.names(column, Listed::Unknown)
        };
        for (column, at) in player.iter().enumerate() {
            if *at == Point::None && !self.names(column, Listed::None) {
                return Answer::DoesNotApply;
            }
        }
        let columns = || 0..player.len();
        let is_out = |row: &Vec<Condition>| {
            columns().any(|column| !is_open(column) && !row[column].takes(player[column]))
        };
        let is_certain = |row: &Vec<Condition>| {
            columns().all(|column| !is_open(column) || row[column] == Condition::Any)
        };
        let mut remaining = Vec::new();
        let mut is_settled = false;
        for (number, row) in self.rows.iter().enumerate() {
            // Under *first* nothing below a row that takes him for certain is looked at.
            if is_out(row) || (self.is_first && is_settled) {
                continue;
            }
            remaining.push(number);
            is_settled |= is_certain(row);
        }
        if self.has_otherwise && !is_settled {
            remaining.push(self.rows.len());
        }
        match remaining.as_slice() {
            [] => Answer::NoRow,
            [row] => Answer::Row(*row),
            _ => Answer::Undecided,
        }
    }
}
