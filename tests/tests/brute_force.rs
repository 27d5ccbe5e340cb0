//! What the checker finds in tables, and what the engine decides by them, against brute force:
//! made-up tables, every row looked at for every point of a grid.

use std::collections::{BTreeMap, BTreeSet};

use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Diagnostic, Label};
use loftwright_dsl::quantity::Date;
use loftwright_engine::CONTRACT_VERSION;
use loftwright_engine::assure::confirm_findings;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::parts::Parts;
use loftwright_tests::engine_side;
use loftwright_tests::generator::Random;
use loftwright_tests::oracle::{self, Person};
use loftwright_tests::sides::Sides;
use loftwright_tests::tables::{Answer, Column, Point, Shape, Table, Written, table};

const RULESET: &str = "ruleset made_up\n  builds on base\n";

/// Tables as files of one ruleset on top of the corpus' base, a file each.
struct Checked {
    tables: Vec<(Table, Written)>,
    output: CheckOutput,
}

impl Checked {
    fn new(tables: Vec<Table>, random: &mut Random) -> Self {
        let (tables, layers) = layers_of(tables, random);
        let mut output = check(&layers, CONTRACT_VERSION);
        confirm_findings(&mut output, Date::parse("2026-05-01").unwrap());
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
    let mut files = vec![("ruleset.rules".to_owned(), RULESET.to_owned())];
    files.extend(
        tables
            .iter()
            .map(|(table, written)| (format!("{}.rules", table.name), written.text.clone())),
    );
    (tables, on_base(files))
}

/// A ruleset on top of the corpus' base.
fn on_base(files: Vec<(String, String)>) -> Vec<LayerSource> {
    let mut layers = engine_side::layers("base");
    layers.push(LayerSource {
        name: "made_up".to_owned(),
        files,
    });
    layers
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
    let start = |finding: &Diagnostic| finding.primary.span.start;
    let found = |code: Code| findings.iter().filter(move |finding| finding.code == code);
    let known = [Code::Gap, Code::Overlap, Code::UnreachableRow, Code::Unused];
    for finding in findings {
        // The engine must come to what the finding says of its player.
        let is_doubt = |line: &String| {
            line.contains("this is not confirmed") || line.contains("bring no club")
        };
        assert!(!finding.help.iter().any(is_doubt), "{}", shown());
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
            let other = finding.secondary[0].span.start;
            let rows = (row_at(written, other), row_at(written, start(finding)));
            (rows.0.min(rows.1), rows.0.max(rows.1))
        })
        .collect();
    assert_eq!(pairs, overlaps, "{}", shown());
    let unreached: BTreeSet<usize> = found(Code::UnreachableRow)
        .map(|finding| row_at(written, start(finding)))
        .collect();
    assert_eq!(unreached, table.unreached(), "{}", shown());
    for finding in found(Code::Gap) {
        let Some(player) = witness(table, finding) else {
            let says_so = |line: &String| line.contains("no player was found there in");
            assert!(finding.help.iter().any(says_so), "{}", shown());
            continue;
        };
        assert_eq!(
            table.answer(&player),
            Answer::NoRow,
            "{player:?} {}",
            shown()
        );
    }
    for finding in found(Code::Overlap) {
        if let Some(player) = witness(table, finding) {
            let other = finding.secondary[0].span.start;
            let rows = [row_at(written, other), row_at(written, start(finding))];
            let live = table.live_rows(&player);
            let are_live = rows.iter().all(|row| live.contains(row));
            assert!(are_live, "{player:?} {}", shown());
        }
    }
}

/// The player who shows a finding, on the ticks of the table.
fn witness(table: &Table, finding: &Diagnostic) -> Option<Vec<Point>> {
    let witness = finding.witness.as_ref()?;
    assert_eq!(witness.decision, table.name);
    let given = witness.given.iter();
    let given = given.map(|reading| (reading.input.clone(), reading.value.clone()));
    Some(table.player_with(&given.collect()))
}

/// The rows that a gap says are missing, where all of them are shown.
fn missing_rows(findings: &[&Diagnostic]) -> Option<Vec<String>> {
    let gap = findings.iter().find(|finding| finding.code == Code::Gap)?;
    let is_cut_short = gap.help.iter().any(|line| line.contains("gaps more"));
    let rows = gap.help.iter();
    let rows = rows.filter_map(|line| line.strip_prefix("not covered: "));
    (!is_cut_short).then(|| rows.map(str::to_owned).collect())
}

/// Adds the rows that a table is said to miss: then it has no gap, and none of them overlaps.
fn fill_gaps(tables: &[(Table, Written)], findings: &BTreeMap<&str, Vec<&Diagnostic>>) -> usize {
    let mut files = vec![("ruleset.rules".to_owned(), RULESET.to_owned())];
    for (table, written) in tables {
        let found = findings.get(table.name.as_str());
        let Some(rows) = found.and_then(|found| missing_rows(found)) else {
            continue;
        };
        let mut text = written.text.clone();
        for row in rows {
            text.push_str(&format!("    {row} gives 1000\n"));
        }
        files.push((format!("{}.rules", table.name), text));
    }
    let filled = files.len() - 1;
    let output = check(&on_base(files), CONTRACT_VERSION);
    for finding in &output.diagnostics {
        let file = &output.folder[finding.primary.span.file];
        let is_new = |label: &Label| {
            let start = label.span.start;
            file.text[start..]
                .lines()
                .next()
                .unwrap()
                .ends_with("gives 1000")
        };
        let labels = std::iter::once(&finding.primary).chain(&finding.secondary);
        let is_old = matches!(finding.code, Code::Overlap | Code::UnreachableRow)
            && !labels.into_iter().any(is_new);
        let is_fine = is_old || finding.code == Code::Unused;
        assert!(is_fine, "{finding:#?}\n{}", file.text);
    }
    filled
}

/// Tables of one shape from a seed on, checked in rulesets of twenty; as many as are asked for with
/// `TABLES=5000 cargo test -p loftwright-tests --test brute_force`.
fn look_at(shape: Shape, first: u64, usual: usize) {
    let asked = std::env::var("TABLES").ok();
    let count = asked.map_or(usual, |text| text.parse().unwrap());
    let mut random = Random(first);
    let (mut clean, mut filled) = (0, 0);
    let (mut shown, mut without) = (0, 0);
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
            let spoilt = [Code::Gap, Code::Overlap];
            for finding in found
                .iter()
                .filter(|finding| spoilt.contains(&finding.code))
            {
                shown += usize::from(finding.witness.is_some());
                without += usize::from(finding.witness.is_none());
            }
            clean += usize::from(found.iter().all(|finding| finding.code == Code::Unused));
        }
        filled += fill_gaps(&checked.tables, &findings);
    }
    // Readings lead everywhere here; only the number of tries is in the way of finding them.
    assert!(
        without * 8 < shown,
        "{without} findings without a player, {shown} with one"
    );
    assert!(filled > count / 10, "{filled} of {count}");
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
    look_at(shape(1, 12, 6), 1, 200);
}

#[test]
fn tables_of_two_columns_are_proved_as_brute_force_finds_them() {
    look_at(shape(2, 8, 8), 2, 200);
}

#[test]
fn tables_of_three_columns_are_proved_as_brute_force_finds_them() {
    look_at(shape(3, 5, 12), 3, 160);
}

#[test]
fn tables_of_four_columns_are_proved_as_brute_force_finds_them() {
    look_at(shape(4, 3, 14), 4, 100);
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
                    Answer::Undecided if table.if_unknown.is_some() => {
                        came == format!("decided {}", table.if_unknown.unwrap())
                    }
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
