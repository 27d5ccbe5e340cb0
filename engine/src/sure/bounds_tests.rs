use loftwright_dsl::program::{Bound, Condition, Interval, Row, RowResult, Table, ValueSet};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::HitPolicy;
use loftwright_dsl::syntax::{Folder, SourceFile, Span};

use super::{Edge, edges, room_beyond};

fn span() -> Span {
    let mut folder = Folder::new();
    let file = folder.push(SourceFile {
        layer: "house".to_owned(),
        name: "house.rules".to_owned(),
        text: String::new(),
    });
    Span {
        file,
        start: 0,
        end: 0,
    }
}

fn bound(value: i64, is_included: bool) -> Option<Bound> {
    Some(Bound {
        value: Rational::whole(value),
        is_included,
    })
}

fn row(low: Option<Bound>, high: Option<Bound>, is_otherwise: bool) -> Row {
    let condition = Condition {
        is_any: false,
        values: ValueSet::Intervals(vec![Interval { low, high }]),
        none: false,
        unknown: false,
    };
    Row {
        conditions: if is_otherwise {
            Vec::new()
        } else {
            vec![condition]
        },
        is_otherwise,
        result: RowResult::Keeps,
        because: None,
        text: String::new(),
        span: span(),
    }
}

fn table(hit_policy: HitPolicy, rows: Vec<Row>) -> Table {
    Table::new(Vec::new(), hit_policy, None, rows, span())
}

fn edge(value: i64, other_side_is_above: bool, belongs_to_other_side: bool) -> Edge {
    Edge {
        value: Rational::whole(value),
        other_side_is_above,
        belongs_to_other_side,
    }
}

/// `under 5`, `5 through 8`, `over 8`.
fn three_rows() -> Table {
    table(
        HitPolicy::Unique,
        vec![
            row(None, bound(5, false), false),
            row(bound(5, true), bound(8, true), false),
            row(bound(8, false), None, false),
        ],
    )
}

#[test]
fn a_row_ends_where_its_own_interval_does() {
    let table = three_rows();
    assert_eq!(edges(&table, 0, 0, &[]), [edge(5, true, true)]);
    assert_eq!(
        edges(&table, 1, 0, &[]),
        [edge(5, false, false), edge(8, true, false)]
    );
    assert_eq!(edges(&table, 2, 0, &[]), [edge(8, false, true)]);
}

#[test]
fn otherwise_ends_where_another_row_begins() {
    let table = table(
        HitPolicy::Unique,
        vec![
            row(bound(5, true), bound(8, false), false),
            row(None, None, true),
        ],
    );
    assert_eq!(
        edges(&table, 1, 0, &[]),
        [edge(5, true, true), edge(8, false, false)]
    );
}

#[test]
fn a_row_behind_others_ends_where_they_begin() {
    let table = table(
        HitPolicy::First,
        vec![
            row(bound(10, true), None, false),
            row(bound(5, true), None, false),
        ],
    );
    assert_eq!(
        edges(&table, 1, 0, &[]),
        [edge(5, false, false), edge(10, true, true)]
    );
    assert_eq!(edges(&table, 0, 0, &[]), [edge(10, false, false)]);
}

#[test]
fn the_next_bound_beyond_an_edge_is_kept_clear() {
    let table = three_rows();
    assert_eq!(
        room_beyond(&table, 0, edge(5, true, true)),
        Some(Rational::whole(3))
    );
    assert_eq!(room_beyond(&table, 0, edge(8, true, false)), None);
    assert_eq!(
        room_beyond(&table, 0, edge(8, false, true)),
        Some(Rational::whole(3))
    );
}
