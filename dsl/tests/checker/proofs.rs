//! Overlap and completeness against brute force on a grid.

use loftwright_dsl::diagnostic::Code;
use loftwright_dsl::program::{Table, Value};
use loftwright_dsl::quantity::Rational;

use crate::{check_rules, codes, expect_codes};

#[test]
fn boundaries_meet_without_a_gap_or_an_overlap() {
    let table = |rows: &str| {
        format!("input x : length\n  between 0 in and 10 in\ndecide d : number\n  by x\n{rows}")
    };
    expect_codes(
        &table("    under 5 in gives 1\n    5 in or more gives 2\n"),
        &[],
    );
    expect_codes(
        &table("    under 5 in gives 1\n    over 5 in gives 2\n"),
        &[Code::Gap],
    );
    expect_codes(
        &table("    up to 5 in gives 1\n    5 in or more gives 2\n"),
        &[Code::Overlap],
    );
    // The same boundary in another unit is the same boundary.
    expect_codes(
        &table("    under 5 in gives 1\n    127 mm or more gives 2\n"),
        &[],
    );
    expect_codes(
        &table("    under 5 in gives 1\n    127.001 mm or more gives 2\n"),
        &[Code::Gap],
    );
}

#[test]
fn counts_are_complete_on_whole_numbers() {
    let rules = "input n : count\n  between 0 and 9\ndecide d : number\n  by n\n    0 gives 1\n    1 or 2 gives 2\n    over 2 gives 3\n";
    expect_codes(rules, &[]);
}

#[test]
fn half_steps_of_a_scale_are_values_too() {
    let rules = |halves: &str| {
        format!(
            "scale flex is soft < firm{halves}\ninput f : flex\ndecide d : number\n  by f\n    soft gives 1\n    firm gives 2\n"
        )
    };
    expect_codes(&rules(""), &[]);
    let output = expect_codes(&rules(", in halves"), &[Code::Gap]);
    assert!(output.diagnostics[0].message.contains("soft plus 1/2"));
}

#[test]
fn a_row_that_nobody_reaches_is_pointed_out() {
    let rules = "input n : count\n  between 0 and 9\ndecide d : number\n  by n, first\n    any gives 1\n    3 gives 2\n";
    expect_codes(rules, &[Code::UnreachableRow]);
}

#[test]
fn a_table_beyond_the_budget_is_refused_by_name() {
    // Windows that slide along four columns, each in another order: every one crosses every other
    // on each column, and nearly nothing is covered by what comes before it.
    let mut rules = String::new();
    for column in ["a", "b", "c", "d"] {
        rules.push_str(&format!("input {column} : count\n  between 0 and 1000\n"));
    }
    let table = |rows: i32| {
        let mut table = "decide e : number\n  by a and b and c and d, first\n".to_owned();
        for row in 0..rows {
            let window = |step: i32| {
                let low = 5 * (row * step % rows);
                format!("{low} through {}", low + 4 * rows)
            };
            let windows = [window(1), window(7), window(11), window(17)];
            table.push_str(&format!("    {} gives 1\n", windows.join(" and ")));
        }
        format!("{rules}{table}    otherwise gives 2\n")
    };
    expect_codes(&table(10), &[]);
    let output = expect_codes(&table(60), &[Code::TooManyCells]);
    let help = &output.diagnostics[0].help[0];
    assert!(
        help.contains("split this table") && help.contains("200000"),
        "{help}"
    );
}

/// A small generator with a fixed seed: the same tables every time.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self, below: u64) -> u64 {
        // SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (mixed ^ (mixed >> 31)) % below
    }
}

fn condition(numbers: &mut Numbers) -> String {
    let low = numbers.next(5);
    let high = low + 1 + numbers.next(3);
    match numbers.next(7) {
        0 => format!("under {high}"),
        1 => format!("up to {low}"),
        2 => format!("over {low}"),
        3 => format!("{low} or more"),
        4 => format!("{low} through {high}"),
        5 => format!("{low} to under {high}"),
        _ => "any".to_owned(),
    }
}

/// How many rows of a table match a point, by asking each condition.
fn matches(table: &Table, point: &[Rational]) -> usize {
    table
        .rows
        .iter()
        .filter(|row| {
            row.conditions.iter().zip(point).all(|(condition, number)| {
                condition.is_any || condition.values.contains(&Value::Number(*number))
            })
        })
        .count()
}

#[test]
fn findings_agree_with_brute_force_on_a_grid() {
    let mut numbers = Numbers(7);
    let (mut gaps, mut overlaps, mut sound) = (0, 0, 0);
    for _ in 0..600 {
        let columns = 1 + numbers.next(2);
        let mut rules = String::new();
        for column in 0..columns {
            rules.push_str(&format!("input x{column} : number\n  between 0 and 8\n"));
        }
        let names: Vec<String> = (0..columns).map(|column| format!("x{column}")).collect();
        let header = format!("decide d : number\n  by {}", names.join(" and "));
        let rows: Vec<String> = (0..1 + numbers.next(4))
            .map(|_| {
                let conditions: Vec<String> =
                    (0..columns).map(|_| condition(&mut numbers)).collect();
                format!("    {} gives 1\n", conditions.join(" and "))
            })
            .collect();
        // With an `otherwise` and the policy *first* the same rows always check: that program's
        // conditions are what brute force asks.
        let loose = format!(
            "{rules}{header}, first\n{}    otherwise gives 2\n",
            rows.concat()
        );
        let strict = format!("{rules}{header}\n{}", rows.concat());
        let program = check_rules(&loose)
            .program
            .expect("the loose form always checks");
        let decision = program.decisions.iter().next().expect("one decision");
        let tables = decision.tables();
        let mut table = (*tables.first().expect("one table")).clone();
        table.rows.pop();
        let (mut has_gap, mut has_overlap) = (false, false);
        for place in 0..(33_usize.pow(u32::try_from(columns).expect("few"))) {
            // Quarters from 0 to 8: every bound, and points between bounds.
            let coordinate =
                |index: usize| Rational::fraction(i128::try_from(index).unwrap(), 4).unwrap();
            let point = [coordinate(place % 33), coordinate(place / 33)];
            match matches(&table, &point[..usize::try_from(columns).unwrap()]) {
                0 => has_gap = true,
                1 => {}
                _ => has_overlap = true,
            }
        }
        let found = codes(&check_rules(&strict));
        assert_eq!(found.contains(&Code::Gap), has_gap, "{strict}");
        assert_eq!(found.contains(&Code::Overlap), has_overlap, "{strict}");
        gaps += usize::from(has_gap);
        overlaps += usize::from(has_overlap);
        sound += usize::from(!has_gap && !has_overlap);
    }
    // The generator reaches all three: otherwise the comparison says nothing.
    assert!(
        gaps > 50 && overlaps > 50 && sound > 10,
        "{gaps} {overlaps} {sound}"
    );
}
