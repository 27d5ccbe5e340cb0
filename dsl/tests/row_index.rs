//! The index and the masks of a table against looking at every row.

#![expect(clippy::expect_used, reason = "a panic is how a test fails")]

use loftwright_dsl::program::{
    Bound, Column, Condition, Expression, ExpressionKind, Interval, Row, RowResult, Shown, Table,
    Type, Value, ValueSet,
};
use loftwright_dsl::quantity::{Dimension, Rational};
use loftwright_dsl::syntax::tree::HitPolicy;
use loftwright_dsl::syntax::{Folder, SourceFile, Span};

/// Plain numbers that look random: the multiplier is Knuth's for 64 bits (from memory).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, below: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005);
        self.0 = self.0.wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % below
    }

    /// A bound on a grid of halves, so that bounds meet often; sometimes none.
    fn bound(&mut self, halves: u64) -> Option<Bound> {
        (self.below(6) > 0).then(|| Bound {
            value: half(self.below(halves)),
            is_included: self.below(2) == 0,
        })
    }

    fn condition(&mut self, halves: u64) -> Condition {
        let interval = Interval {
            low: self.bound(halves),
            high: self.bound(halves),
        };
        Condition {
            is_any: self.below(10) == 0,
            values: ValueSet::Intervals(vec![interval]),
            none: false,
            unknown: false,
        }
    }
}

fn half(count: u64) -> Rational {
    Rational::fraction(i128::from(count), 2).expect("a half")
}

fn span() -> Span {
    let mut folder = Folder::new();
    let file = folder.push(SourceFile {
        layer: String::new(),
        name: String::new(),
        text: String::new(),
    });
    Span {
        file,
        start: 0,
        end: 0,
    }
}

fn column() -> Column {
    Column {
        value: Expression {
            kind: ExpressionKind::Constant(Value::Number(Rational::ZERO)),
            value_type: Type::Quantity(Dimension::ANGLE),
            span: span(),
        },
        text: "turn".to_owned(),
        shown: Shown::default(),
        takes_none: false,
        takes_unknown: false,
        between: None,
    }
}

fn table(conditions: Vec<Vec<Condition>>) -> Table {
    let columns = conditions.first().map_or(0, Vec::len);
    let row = |conditions| Row {
        conditions,
        is_otherwise: false,
        result: RowResult::Keeps,
        because: None,
        text: String::new(),
        span: span(),
    };
    Table::new(
        (0..columns).map(|_| column()).collect(),
        HitPolicy::First,
        None,
        conditions.into_iter().map(row).collect(),
        span(),
    )
}

#[test]
fn an_index_lists_exactly_the_rows_that_accept_a_number() {
    let mut numbers = Numbers(7);
    let mut indexed = 0;
    for _ in 0..300 {
        let rows = 8 + numbers.below(30);
        let columns = 1 + numbers.below(2);
        let halves = 4 + numbers.below(60);
        let conditions = (0..rows)
            .map(|_| (0..columns).map(|_| numbers.condition(halves)).collect())
            .collect();
        let table = table(conditions);
        let Some(index) = table.index() else { continue };
        indexed += 1;
        // Quarters: on every bound, between any two, and beyond them all.
        for quarters in 0..=2 * halves + 1 {
            let number = half(quarters).over(Rational::whole(2)).expect("a quarter");
            let expected: Vec<usize> = table
                .rows
                .iter()
                .enumerate()
                .filter(|(_, row)| {
                    let condition = &row.conditions[index.column()];
                    condition.is_any || condition.values.contains(&Value::Number(number))
                })
                .map(|(place, _)| place)
                .collect();
            assert_eq!(index.rows_of(number), expected, "{number:?} in {table:#?}");
        }
    }
    assert!(indexed > 50, "{indexed} tables had an index");
}

/// Which rows a column leaves, one by one; a row without conditions is `otherwise`.
fn accepting(table: &Table, column: usize, holds: impl Fn(&Condition) -> bool) -> u64 {
    let rows = table.rows.iter().enumerate();
    let accepts = |row: &Row| {
        let condition = row.conditions.get(column);
        condition.is_none_or(|condition| condition.is_any || holds(condition))
    };
    let accepting = rows.filter(|(_, row)| accepts(row));
    accepting.fold(0, |mask, (place, _)| mask | 1 << place)
}

#[test]
fn masks_have_exactly_the_rows_that_accept_a_number() {
    let mut numbers = Numbers(5);
    for _ in 0..300 {
        let rows = 1 + numbers.below(64);
        let halves = 4 + numbers.below(60);
        let conditions = (0..rows).map(|_| vec![numbers.condition(halves)]);
        let table = table(conditions.collect());
        let masks = table.masks().expect("few rows");
        for quarters in 0..=2 * halves + 1 {
            let number = half(quarters).over(Rational::whole(2)).expect("a quarter");
            let value = Value::Number(number);
            let expected = accepting(&table, 0, |condition| condition.values.contains(&value));
            assert_eq!(
                masks.accepting(0, &value),
                Some(expected),
                "{number:?} in {table:#?}"
            );
        }
    }
}

#[test]
fn masks_have_exactly_the_rows_that_accept_a_word_a_flag_or_nothing() {
    let mut numbers = Numbers(13);
    for _ in 0..300 {
        let mut rows = Vec::new();
        for _ in 0..5 {
            let words = (0..numbers.below(3)).map(|_| 2 * numbers.below(6));
            let words = words.map(|word| i32::try_from(word).expect("a small one"));
            let words = ValueSet::Words(words.collect());
            let flags = ValueSet::Flags([numbers.below(2) == 0].into());
            let condition = |values| Condition {
                is_any: numbers.below(5) == 0,
                values: match numbers.below(5) {
                    0 => ValueSet::All,
                    _ => values,
                },
                none: numbers.below(2) == 0,
                unknown: numbers.below(2) == 0,
            };
            rows.push([words, flags].map(condition).to_vec());
        }
        // The last row is `otherwise`.
        rows.push(Vec::new());
        let table = table(rows);
        let masks = table.masks().expect("few rows");
        let words = (-1..=12).map(|word| (0, Value::Word(word)));
        let flags = [false, true].map(|flag| (1, Value::Flag(flag)));
        for (column, value) in words.chain(flags) {
            let expected = accepting(&table, column, |it| it.values.contains(&value));
            let found = masks.accepting(column, &value);
            assert_eq!(found, Some(expected), "{value:?} in {table:#?}");
        }
        for column in 0..2 {
            let none = accepting(&table, column, |condition| condition.none);
            assert_eq!(masks.accepting_none(column), Some(none), "{table:#?}");
            let unknown = accepting(&table, column, |condition| condition.unknown);
            assert_eq!(masks.accepting_unknown(column), Some(unknown), "{table:#?}");
        }
        assert_eq!(masks.all(), 0b11_1111);
    }
}

#[test]
fn more_rows_than_bits_and_texts_have_no_masks() {
    let mut numbers = Numbers(3);
    let many = (0..65).map(|_| vec![numbers.condition(20)]).collect();
    assert!(table(many).masks().is_none());
    let text = Condition {
        is_any: false,
        values: ValueSet::Texts(["turf".to_owned()].into()),
        none: false,
        unknown: false,
    };
    assert!(table(vec![vec![text]]).masks().is_none());
}

#[test]
fn few_rows_have_no_index_and_nor_have_rows_that_all_overlap() {
    let mut numbers = Numbers(11);
    let few: Vec<_> = (0..7).map(|_| vec![numbers.condition(20)]).collect();
    assert!(table(few).index().is_none());
    let everywhere: Vec<_> = (0..100_u64)
        .map(|place| {
            let low = Bound {
                value: half(place),
                is_included: true,
            };
            let interval = Interval {
                low: Some(low),
                high: None,
            };
            vec![Condition {
                is_any: false,
                values: ValueSet::Intervals(vec![interval]),
                none: false,
                unknown: false,
            }]
        })
        .collect();
    assert!(table(everywhere).index().is_none());
}
