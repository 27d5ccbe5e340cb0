//! Whole tables against brute force: every point of a grid that meets every cell.

use std::collections::BTreeSet;

use loftwright_dsl::analysis::{
    Cell, MOST_OVERLAPS, Region, Space, cut_into_rows, prove_table, row_text,
};
use loftwright_dsl::check::{CheckOutput, LayerSource, check};
use loftwright_dsl::diagnostic::{Code, Severity};
use loftwright_dsl::program::{Condition, Interval, Program, Table, Value, ValueSet};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::HitPolicy;

use crate::numbers::Numbers;

/// A value of a column of the grid.
#[derive(Clone, Debug, PartialEq)]
enum At {
    Known(Value),
    None,
    Unknown,
}

/// A column: its declaration, and how its conditions are written.
struct Kind {
    input: &'static str,
    condition: fn(&mut Numbers) -> String,
}

const DECLARED: &str = "choice colour is red, green, blue, grey, black\n\
    scale flex is soft < regular < stiff, in halves\n\
    scale size is small < middle < large\n";

const KINDS: &[Kind] = &[
    Kind {
        input: "number\n  between 0 and 4",
        condition: |numbers| bounds(numbers, &["0", "1", "2", "3", "4", "5"]),
    },
    Kind {
        input: "count\n  between 0 and 6",
        condition: |numbers| bounds(numbers, &["0", "1", "2", "3", "5", "6", "7"]),
    },
    Kind {
        input: "flex",
        condition: |numbers| {
            let steps = [
                "soft",
                "soft plus 1/2",
                "regular",
                "regular plus 1/2",
                "stiff",
            ];
            if numbers.once_in(2) {
                bounds(numbers, &steps)
            } else {
                words(numbers, &steps)
            }
        },
    },
    Kind {
        input: "colour",
        condition: |numbers| words(numbers, &["red", "green", "blue", "grey", "black"]),
    },
    Kind {
        input: "size",
        condition: |numbers| words(numbers, &["small", "middle", "large"]),
    },
    Kind {
        input: "flag",
        condition: |numbers| words(numbers, &["yes", "no"]),
    },
];

fn bounds(numbers: &mut Numbers, places: &[&str]) -> String {
    let low = numbers.below(places.len() - 1);
    let high = low + 1 + numbers.below(places.len() - 1 - low);
    let (from, to) = (places[low], places[high]);
    match numbers.below(12) {
        0 => format!("under {to}"),
        1 => format!("up to {from}"),
        2 => format!("over {from}"),
        3 => format!("{from} or more"),
        4 => format!("{from} through {to}"),
        5 => format!("{from} to under {to}"),
        6 => format!("over {from} through {to}"),
        7 => format!("{from} or {to}"),
        8 => format!("not {from}"),
        9 => format!("{from} or unknown"),
        10 if numbers.once_in(2) => "none".to_owned(),
        _ => "any".to_owned(),
    }
}

fn words(numbers: &mut Numbers, words: &[&str]) -> String {
    let mut word = || words[numbers.below(words.len())];
    let (one, other) = (word(), word());
    match numbers.below(8) {
        0 => "any".to_owned(),
        1 => format!("not {one}"),
        2 => format!("{one} or unknown"),
        3 => "none".to_owned(),
        4 if one != other => format!("{one} or {other}"),
        _ => one.to_owned(),
    }
}

pub(crate) fn check_rules(rules: &str) -> CheckOutput {
    let layer = |name: &str, text: String| LayerSource {
        name: name.to_owned(),
        files: vec![(format!("{name}.rules"), text)],
    };
    let house = format!("ruleset house\n{DECLARED}{rules}");
    check(
        &[
            layer("contract", "ruleset contract\n".to_owned()),
            layer("house", house),
        ],
        1,
    )
}

/// A random table: the inputs, the header without its policy, and the rows.
fn random_table(numbers: &mut Numbers, columns: usize) -> (String, String, Vec<String>) {
    let kinds: Vec<&Kind> = (0..columns)
        .map(|_| &KINDS[numbers.below(KINDS.len())])
        .collect();
    let inputs = kinds.iter().enumerate();
    let inputs = inputs.map(|(place, kind)| format!("input x{place} : {}\n", kind.input));
    let names: Vec<String> = (0..columns).map(|place| format!("x{place}")).collect();
    let row = |numbers: &mut Numbers| {
        let conditions: Vec<String> = kinds.iter().map(|kind| (kind.condition)(numbers)).collect();
        format!("    {} gives 1\n", conditions.join(" and "))
    };
    let rows = (0..1 + numbers.below(6)).map(|_| row(numbers)).collect();
    (
        inputs.collect(),
        format!("decide d : number\n  by {}", names.join(" and ")),
        rows,
    )
}

/// The program and table of rules that check whatever the rows are, with the rows alone under the
/// policy asked for.
fn program_of(inputs: &str, header: &str, rows: &[String], policy: HitPolicy) -> (Program, Table) {
    let rules = format!(
        "{inputs}{header}, first\n{}    otherwise gives 2\n",
        rows.concat()
    );
    let output = check_rules(&rules);
    let Some(program) = output.program else {
        panic!("{rules}: {:#?}", output.diagnostics);
    };
    let mut table = program
        .decisions
        .iter()
        .next()
        .map(|found| found.tables()[0].clone());
    let table = table.as_mut().map(|table| {
        table.hit_policy = policy;
        table.rows.pop();
        table.clone()
    });
    match table {
        Some(table) => (program, table),
        None => panic!("no table in {rules}"),
    }
}

/// The values of each column that the grid has: numbers in halves, and all there is of the rest.
fn grid_of(program: &Program, table: &Table) -> Vec<Vec<At>> {
    use loftwright_dsl::program::Type;
    let number = |number: Result<Rational, _>| At::Known(Value::Number(number.unwrap()));
    let of_column = |column: &loftwright_dsl::program::Column| {
        let mut values: Vec<At> = match column.value.value_type {
            Type::Flag => [false, true]
                .map(|flag| At::Known(Value::Flag(flag)))
                .to_vec(),
            Type::Choice(id) | Type::Scale(id) => {
                let words = program.vocabularies[id].values();
                words
                    .into_iter()
                    .map(|word| At::Known(Value::Word(word)))
                    .collect()
            }
            Type::Count => (0..=6)
                .map(|count| number(Rational::fraction(count, 1)))
                .collect(),
            _ => (0..=8)
                .map(|half| number(Rational::fraction(half, 2)))
                .collect(),
        };
        values.extend(column.takes_none.then_some(At::None));
        values.extend(column.takes_unknown.then_some(At::Unknown));
        values
    };
    table.columns.iter().map(of_column).collect()
}

fn accepts(condition: &Condition, at: &At) -> bool {
    condition.is_any
        || match at {
            At::Known(value) => condition.values.contains(value),
            At::None => condition.none,
            At::Unknown => condition.unknown,
        }
}

/// The cell in which a value lies.
fn place_of(space: &Space, axis: usize, at: &At) -> usize {
    let is_in = |place: &usize| match (space.axes[axis].cell(*place), at) {
        (Some(Cell::Point(point)), At::Known(Value::Number(number))) => point == *number,
        (Some(Cell::Open(low, high)), At::Known(Value::Number(number))) => {
            low.is_none_or(|low| low < *number) && high.is_none_or(|high| *number < high)
        }
        (Some(Cell::Value(value)), At::Known(known)) => value == *known,
        (Some(Cell::None), At::None) | (Some(Cell::Unknown), At::Unknown) => true,
        _ => false,
    };
    let places: Vec<usize> = (0..space.axes[axis].len()).filter(is_in).collect();
    assert_eq!(places.len(), 1, "{at:?} lies in one cell");
    places[0]
}

/// What looking at every point of the grid finds.
#[derive(Default)]
struct Looked {
    /// Points in cells, and whether a row matches there.
    points: Vec<(Vec<usize>, bool)>,
    pairs: BTreeSet<(usize, usize)>,
    reached: BTreeSet<usize>,
}

fn look(table: &Table, grid: &[Vec<At>], space: &Space) -> Looked {
    let mut looked = Looked::default();
    let lengths: Vec<usize> = grid.iter().map(Vec::len).collect();
    let cells: Vec<Vec<usize>> = grid
        .iter()
        .enumerate()
        .map(|(axis, values)| values.iter().map(|at| place_of(space, axis, at)).collect())
        .collect();
    for point in crate::sweep::points(&lengths) {
        let is_live = |row: &usize| {
            let conditions = &table.rows[*row].conditions;
            let mut met = conditions.iter().zip(&point).enumerate();
            met.all(|(axis, (condition, place))| accepts(condition, &grid[axis][*place]))
        };
        let live: Vec<usize> = (0..table.rows.len()).filter(is_live).collect();
        if table.hit_policy == HitPolicy::Unique {
            looked.reached.extend(&live);
            for (place, other) in live.iter().enumerate() {
                looked
                    .pairs
                    .extend(live.iter().take(place).map(|one| (*one, *other)));
            }
        } else {
            looked.reached.extend(live.first());
        }
        let places = point
            .iter()
            .enumerate()
            .map(|(axis, place)| cells[axis][*place]);
        looked.points.push((places.collect(), !live.is_empty()));
    }
    looked
}

#[test]
fn proofs_agree_with_looking_at_every_point() {
    let mut numbers = Numbers(23);
    let (mut gaps, mut pairs, mut unreached, mut whole) = (0, 0, 0, 0);
    for round in 0..320 {
        let (inputs, header, rows) = random_table(&mut numbers, 1 + round % 4);
        let policy = if numbers.once_in(2) {
            HitPolicy::First
        } else {
            HitPolicy::Unique
        };
        let (program, table) = program_of(&inputs, &header, &rows, policy);
        let proof = prove_table(&program, &table);
        assert!(proof.is_whole);
        let looked = look(&table, &grid_of(&program, &table), &proof.space);
        let found: BTreeSet<(usize, usize)> = proof
            .overlaps
            .iter()
            .map(|overlap| (overlap.one, overlap.other))
            .collect();
        assert_eq!(found, looked.pairs, "{rows:?}");
        assert_eq!(
            found.len(),
            proof.overlaps.len(),
            "each pair once: {rows:?}"
        );
        for overlap in &proof.overlaps {
            let boxes = proof.space.rows_of(0, &table);
            let is_inside = |row: usize| {
                let sets = overlap.region.sets.iter().zip(&boxes[row].sets);
                sets.into_iter()
                    .all(|(region, own)| region.intersection(own) == *region)
            };
            assert!(
                is_inside(overlap.one) && is_inside(overlap.other),
                "{rows:?}"
            );
        }
        for (point, is_matched) in &looked.points {
            let around = proof.gaps.iter().filter(|gap| gap.contains(point)).count();
            assert_eq!(around, usize::from(!is_matched), "{point:?} of {rows:?}");
        }
        let missed: Vec<usize> = (0..rows.len())
            .filter(|row| !looked.reached.contains(row))
            .collect();
        assert_eq!(proof.unreached, missed, "{rows:?}");
        gaps += usize::from(!proof.gaps.is_empty());
        whole += usize::from(proof.gaps.is_empty());
        pairs += usize::from(!found.is_empty());
        unreached += usize::from(!missed.is_empty());
    }
    assert!(
        gaps > 100 && whole > 20 && pairs > 60 && unreached > 60,
        "{gaps} with gaps, {whole} without, {pairs} with overlaps, {unreached} with lost rows"
    );
}

#[test]
fn the_gaps_pasted_as_rows_close_the_table() {
    let mut numbers = Numbers(31);
    let mut pasted = 0;
    for round in 0..160 {
        let (inputs, header, rows) = random_table(&mut numbers, 1 + round % 3);
        let (program, table) = program_of(&inputs, &header, &rows, HitPolicy::First);
        let proof = prove_table(&program, &table);
        let gaps: Vec<Region> = cut_into_rows(&proof.space, proof.gaps.clone());
        let added: Vec<String> = gaps
            .iter()
            .map(|gap| {
                format!(
                    "    {} gives 2\n",
                    row_text(&program, &table, &proof.space, gap)
                )
            })
            .collect();
        pasted += added.len();
        // Behind the rows each added one is reached, so it says no more than the gap and none is
        // said twice.
        let rules = format!(
            "{inputs}{header}, first\n{}{}",
            rows.concat(),
            added.concat()
        );
        let output = check_rules(&rules);
        let errors: Vec<_> = output
            .diagnostics
            .iter()
            .filter(|found| found.severity == Severity::Error)
            .collect();
        assert!(errors.is_empty(), "{rules}\n{errors:#?}");
        let lost = output
            .diagnostics
            .iter()
            .filter(|found| found.code == Code::UnreachableRow);
        assert_eq!(lost.count(), proof.unreached.len(), "{rules}");
        // Added in front, none of them takes anything from a row.
        let rules = format!(
            "{inputs}{header}, first\n{}{}",
            added.concat(),
            rows.concat()
        );
        let output = check_rules(&rules);
        let lost = output
            .diagnostics
            .iter()
            .filter(|found| found.code == Code::UnreachableRow);
        assert_eq!(lost.count(), proof.unreached.len(), "{rules}");
        // Among themselves they are disjoint.
        let rules = format!(
            "{inputs}{header}\n{}    otherwise gives 3\n",
            added.concat()
        );
        if !added.is_empty() {
            let overlaps = check_rules(&rules).diagnostics;
            let overlaps = overlaps.iter().filter(|found| found.code == Code::Overlap);
            assert_eq!(overlaps.count(), 0, "{rules}");
        }
    }
    assert!(pasted > 200, "{pasted} rows were pasted");
}

/// A table of one count column with a row for each of `count` numbers, as no file could hold it.
fn long_table(count: i128, policy: HitPolicy) -> (Program, Table) {
    let rows = ["    0 gives 1\n".to_owned()];
    let inputs = "input x0 : count\n  between 0 and 400000\n";
    let header = "decide d : number\n  by x0";
    let (program, mut table) = program_of(inputs, header, &rows, policy);
    let bound = |number: i128| loftwright_dsl::program::Bound {
        value: Rational::fraction(number, 1).unwrap(),
        is_included: true,
    };
    table.columns[0].between = Some((bound(0).value, bound(count - 1).value));
    let row = table.rows[0].clone();
    let of_number = |number: i128| {
        let mut row = row.clone();
        row.conditions[0].values = ValueSet::Intervals(vec![Interval {
            low: Some(bound(number)),
            high: Some(bound(number)),
        }]);
        row
    };
    table.rows = (0..count).map(of_number).collect();
    (program, table)
}

#[test]
fn a_table_of_one_column_is_proved_however_long_it_is() {
    let count = 20_000;
    let (program, mut table) = long_table(count, HitPolicy::Unique);
    let proof = prove_table(&program, &table);
    assert!(proof.is_whole && proof.gaps.is_empty());
    assert!(proof.overlaps.is_empty() && proof.unreached.is_empty());
    // Every other row taken away: one gap of many runs.
    table.rows = table.rows.into_iter().step_by(2).collect();
    let proof = prove_table(&program, &table);
    assert_eq!(proof.gaps.len(), 1);
    assert_eq!(cut_into_rows(&proof.space, proof.gaps).len(), 10_000);
    assert!(proof.is_whole && proof.overlaps.is_empty() && proof.unreached.is_empty());
}

#[test]
fn rows_that_all_cross_each_other_stop_the_search_for_overlaps() {
    let (program, mut table) = long_table(3_000, HitPolicy::Unique);
    for row in &mut table.rows {
        if let ValueSet::Intervals(intervals) = &mut row.conditions[0].values {
            intervals[0].low = None;
        }
    }
    let proof = prove_table(&program, &table);
    assert!(!proof.is_whole, "it has more overlaps than are looked for");
    assert_eq!(proof.overlaps.len(), MOST_OVERLAPS);
    assert!(proof.gaps.is_empty() && proof.unreached.is_empty());
    table.hit_policy = HitPolicy::First;
    let proof = prove_table(&program, &table);
    assert!(proof.is_whole && proof.gaps.is_empty() && proof.unreached.is_empty());
    // The other way round the first row takes them all.
    table.rows.reverse();
    let proof = prove_table(&program, &table);
    assert_eq!(proof.unreached, (1..3_000).collect::<Vec<usize>>());
}
