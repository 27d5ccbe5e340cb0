//! What the checker finds in tables, and what the engine decides by them, against brute force:
//! made-up tables, every row looked at for every point of a grid.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Diagnostic};
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::parts::Parts;
use loftwright_tests::engine_side;
use loftwright_tests::generator::Random;
use loftwright_tests::oracle::{self, Person};
use loftwright_tests::sides::Sides;
use loftwright_tests::tables::{Answer, Column, Point, Shape, Table, Written, table};

/// Tables as files of one ruleset on top of the corpus' base, a file each.
struct Checked {
    tables: Vec<(Table, Written)>,
    output: CheckOutput,
}

impl Checked {
    fn new(tables: Vec<Table>, random: &mut Random) -> Self {
        let (tables, layers) = layers_of(tables, random);
        let output = check(&layers, CONTRACT_VERSION);
        Checked { tables, output }
    }

    /// The findings in each table's file.
    fn findings(&self) -> BTreeMap<&str, Vec<&Diagnostic>> {
        let mut findings: BTreeMap<&str, Vec<&Diagnostic>> = BTreeMap::new();
        for finding in &self.output.diagnostics {
            let file = &self.output.folder[finding.primary.span.file].name;
            let name = file.strip_suffix(".rules").unwrap();
            findings.entry(name).or_default().push(finding);
        }
        findings
    }
}

/// Tables as files of a ruleset on top of the corpus' base, a file each.
fn layers_of(tables: Vec<Table>, random: &mut Random) -> (Vec<(Table, Written)>, Vec<LayerSource>) {
    let tables: Vec<_> = tables
        .into_iter()
        .map(|table| {
            let written = table.written(random);
            (table, written)
        })
        .collect();
    let ruleset = "ruleset made_up\n  builds on base\n";
    let mut files = vec![("ruleset.rules".to_owned(), ruleset.to_owned())];
    files.extend(
        tables
            .iter()
            .map(|(table, written)| (format!("{}.rules", table.name), written.text.clone())),
    );
    let mut layers = engine_side::layers("base");
    layers.push(LayerSource {
        name: "made_up".to_owned(),
        files,
    });
    (tables, layers)
}

/// The row of a table that a place lies in.
fn row_at(written: &Written, start: usize) -> usize {
    let line = written.text[..start].matches('\n').count();
    let row = written.row_lines.iter().position(|row| *row == line);
    row.unwrap_or_else(|| panic!("line {line} is no row of\n{}", written.text))
}

/// Compares what was found in one table with brute force.
fn compare(table: &Table, written: &Written, findings: &[&Diagnostic]) {
    let shown = || format!("{}{findings:#?}", written.text);
    let start = |finding: &Diagnostic| usize::try_from(finding.primary.span.start).unwrap();
    let found = |code: Code| findings.iter().filter(move |finding| finding.code == code);
    let known = [Code::Gap, Code::Overlap, Code::UnreachableRow, Code::Unused];
    for finding in findings {
        assert!(known.contains(&finding.code), "{}", shown());
    }
    let gaps = table.gaps();
    assert_eq!(
        found(Code::Gap).count(),
        usize::from(!gaps.is_empty()),
        "{}",
        shown()
    );
    let overlaps = table.overlaps();
    let pairs: BTreeSet<(usize, usize)> = found(Code::Overlap)
        .map(|finding| {
            let other = usize::try_from(finding.secondary[0].span.start).unwrap();
            let rows = (row_at(written, other), row_at(written, start(finding)));
            (rows.0.min(rows.1), rows.0.max(rows.1))
        })
        .collect();
    assert!(
        pairs.is_subset(&overlaps),
        "{pairs:?} {overlaps:?} {}",
        shown()
    );
    assert_eq!(pairs.is_empty(), overlaps.is_empty(), "{}", shown());
    let unreached: BTreeSet<usize> = found(Code::UnreachableRow)
        .map(|finding| row_at(written, start(finding)))
        .collect();
    if overlaps.is_empty() {
        assert_eq!(unreached, table.unreached(), "{}", shown());
    }
}

/// Tables of one shape from a seed on, checked in rulesets of twenty.
fn look_at(shape: Shape, first: u64, count: usize) {
    let mut random = Random(first);
    let mut clean = 0;
    for _ in 0..count.div_ceil(20) {
        let tables = (0..20)
            .map(|place| table(&format!("table_{place}"), shape, &mut random))
            .collect();
        let checked = Checked::new(tables, &mut random);
        let findings = checked.findings();
        for (table, written) in &checked.tables {
            let found = findings
                .get(table.name.as_str())
                .cloned()
                .unwrap_or_default();
            compare(table, written, &found);
            clean += usize::from(found.iter().all(|finding| finding.code == Code::Unused));
        }
    }
    // Neither is everything at fault nor nothing.
    assert!(
        clean > count / 10 && clean < count * 9 / 10,
        "{clean} of {count}"
    );
}

fn shape(columns: usize, ticks: i64, cuts: usize) -> Shape {
    Shape {
        columns,
        ticks,
        cuts,
        spoilt: 60,
    }
}

#[test]
fn tables_of_one_column_are_proved_as_brute_force_finds_them() {
    look_at(shape(1, 12, 6), 1, 400);
}

#[test]
fn tables_of_two_columns_are_proved_as_brute_force_finds_them() {
    look_at(shape(2, 8, 8), 2, 400);
}

#[test]
fn tables_of_three_columns_are_proved_as_brute_force_finds_them() {
    look_at(shape(3, 5, 12), 3, 300);
}

#[test]
fn tables_of_four_columns_are_proved_as_brute_force_finds_them() {
    look_at(shape(4, 3, 14), 4, 200);
}

/// Where a player stands: a reading may be missing, or not apply.
fn player_of(table: &Table, random: &mut Random) -> Vec<Point> {
    let mut at = |column: &Column| {
        let count = usize::try_from(column.high - column.low + 1).unwrap();
        match random.below(10) {
            0 | 1 => Point::Unknown,
            2 if column.may_be_none => Point::None,
            _ => Point::Value(column.low + i64::try_from(random.below(count)).unwrap()),
        }
    };
    table.columns.iter().map(&mut at).collect()
}

/// Tables that are proved, and players for whom the engine and the oracle must come to what the
/// matcher says.
fn evaluate(shape: Shape, first: u64, rulesets: usize) {
    let mut random = Random(first);
    for _ in 0..rulesets {
        let mut tables = Vec::new();
        while tables.len() < 20 {
            let name = format!("table_{}", tables.len());
            let table = table(&name, shape, &mut random);
            if table.gaps().is_empty() && table.overlaps().is_empty() {
                tables.push(table);
            }
        }
        let (tables, layers) = layers_of(tables, &mut random);
        let sides = Sides::of_layers(&layers);
        let evaluator = Evaluator::new(&sides.program);
        for _ in 0..20 {
            let mut person = Person::default();
            let mut expected = Vec::new();
            for (table, written) in &tables {
                let player = player_of(table, &mut random);
                let readings = table.readings(&player, &mut random);
                person.readings.extend(readings);
                expected.push((table, written, table.answer(&player), player));
            }
            let summary = sides.engine_summary(&evaluator, &person);
            for (table, written, answer, player) in expected {
                let came = summary[&table.name].as_str();
                let is_so = match answer {
                    Answer::Row(row) => came == format!("decided {}", table.results[row]),
                    Answer::Undecided => came.starts_with("needs "),
                    Answer::DoesNotApply => came == "none",
                    Answer::NoRow => false,
                };
                assert!(
                    is_so,
                    "{answer:?}, and came {came}: {player:?}\n{}",
                    written.text
                );
            }
            let (parts, stock) = (Parts::default(), oracle::Parts::default());
            let (count, lines) = sides.differences(&evaluator, &parts, &stock, &person);
            assert!(count == 0, "{}", lines.join("\n"));
        }
    }
}

#[test]
fn proved_tables_decide_as_the_matcher_and_the_oracle_say() {
    evaluate(shape(1, 12, 6), 11, 5);
    evaluate(shape(2, 8, 8), 12, 5);
    evaluate(shape(3, 4, 12), 13, 5);
}
