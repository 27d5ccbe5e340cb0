//! Rules of a stated size, and a table larger than any file may hold.

use std::fmt::Write;

use loftwright_dsl::check::{LayerSource, check};
use loftwright_dsl::program::{
    Bound, Column, Condition, Interval, Program, Row, RowResult, Table, ValueSet,
};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::HitPolicy;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_tests::workshop::{layer, root};

/// The decisions of one file: below a file's size limit.
const DECISIONS_OF_A_FILE: usize = 1_000;

/// A house of so many decisions on the smallest ruleset there is: one in four looks at two columns,
/// one in four moves what another decides, and every decision has three or four rows.
pub fn house_of(decisions: usize) -> Vec<LayerSource> {
    let base = root().join("tests/corpus/base.rules");
    let base = std::fs::read_to_string(base).expect("the base of the corpora");
    let mut files = vec![(
        "house.rules".to_owned(),
        "ruleset house\n  title \"A house\"\n  language 1\n  builds on base\n".to_owned(),
    )];
    for first in (0..decisions).step_by(DECISIONS_OF_A_FILE) {
        let last = decisions.min(first + DECISIONS_OF_A_FILE);
        let text = (first..last).map(decision).collect();
        files.push((format!("from_{first}.rules"), text));
    }
    vec![
        LayerSource {
            name: "contract".to_owned(),
            files: layer("contract"),
        },
        LayerSource {
            name: "base".to_owned(),
            files: vec![("base.rules".to_owned(), base)],
        },
        LayerSource {
            name: "house".to_owned(),
            files,
        },
    ]
}

fn decision(number: usize) -> String {
    let low = 40 + number % 50;
    let high = low + 1 + number % 40;
    let mut text = format!("decide matter_{number} : bounce_class\n  source common practice\n");
    let written = match number % 4 {
        0 => write!(
            text,
            "  by head_speed and turf\n    \
             under {low} mph and any gives low\n    \
             {low} mph or more and firm gives standard\n    \
             {low} mph to under {high} mph and normal or soft gives standard\n    \
             {high} mph or more and normal or soft gives high\n"
        ),
        1 => write!(
            text,
            "  by matter_{}\n    low gives standard\n    standard or high gives high\n  \
             then by turf\n    soft moves down 1\n    firm or normal keeps\n",
            number - 1
        ),
        _ => write!(
            text,
            "  by head_speed\n    under {low} mph gives low\n    \
             {low} mph through {high} mph gives standard\n    over {high} mph gives high\n"
        ),
    };
    written.expect("writing to a string cannot fail");
    text.push('\n');
    text
}

/// A program to prove tables in, and the column `head_speed` of one of its tables.
fn column() -> (Program, Column) {
    let output = check(&house_of(4), CONTRACT_VERSION);
    let program = output.program.expect("clean rules");
    let column = program
        .decisions
        .iter()
        .find(|decision| decision.name == "matter_2")
        .and_then(|decision| {
            decision
                .tables()
                .first()
                .map(|table| table.columns[0].clone())
        })
        .expect("a table of one column");
    (program, column)
}

/// So many rows by one column that follow each other without a gap, a tenth of a millimetre a
/// second each, from the lowest head speed up; the last is open.
pub struct LongTable {
    /// A program that it could stand in.
    pub program: Program,
    column: Column,
    rows: Vec<Row>,
}

impl LongTable {
    /// A table of `rows` rows.
    pub fn of(rows: usize) -> Self {
        let (program, column) = column();
        let origin = column.value.span;
        let bounds: Vec<Rational> = (0..=rows).map(bound).collect();
        let rows = bounds.windows(2).enumerate().map(|(place, ends)| Row {
            conditions: vec![Condition {
                is_any: false,
                values: ValueSet::Intervals(vec![Interval {
                    low: (place > 0).then_some(Bound {
                        value: ends[0],
                        is_included: true,
                    }),
                    high: (place + 1 < rows).then_some(Bound {
                        value: ends[1],
                        is_included: false,
                    }),
                }]),
                none: false,
                unknown: false,
            }],
            is_otherwise: false,
            result: RowResult::Keeps,
            because: None,
            text: String::new(),
            span: origin,
        });
        LongTable {
            program,
            rows: rows.collect(),
            column,
        }
    }

    /// The table, made ready to be looked up.
    pub fn table(&self) -> Table {
        Table::new(
            vec![self.column.clone()],
            HitPolicy::Unique,
            None,
            self.rows.clone(),
            self.column.value.span,
        )
    }

    /// The bounds between the rows, in metres a second.
    pub fn bounds(&self) -> Vec<Rational> {
        (1..self.rows.len()).map(bound).collect()
    }
}

/// The lower bound of a row: tenths of a millimetre a second above 14 m/s.
fn bound(row: usize) -> Rational {
    let tenths = i128::try_from(row).expect("a row's number") + 140_000;
    Rational::fraction(tenths, 10_000).expect("no overflow")
}
