//! Rows: out, certain, possible; unique and first; unknown, none and otherwise.

use crate::support::answer;

const INPUTS: &str = r#"
input angle_of_attack : angle
  ask     "Attack?"
  between -20 deg and 10 deg

input height : length
  ask     "Height?"
  between 30 in and 40 in

choice turf_kind is firm, normal, soft

input turf : turf_kind
  ask "Turf?"

input keen : flag
  ask "Keen?"

input pace : speed
  ask       "Pace?"
  between   30 mph and 150 mph
  only when keen is yes

choice grade is low, standard, high
"#;

/// The outcome of a table whose header and rows are given.
fn table(by: &str, rows: &[&str], readings: &str) -> String {
    let rows = rows.join("\n    ");
    let rules =
        format!("{INPUTS}\ndecide x : grade\n  source common practice\n  by {by}\n    {rows}\n");
    answer(&rules, readings).of("x")
}

/// The issue's own numbers: under 5, 5 through 8, over 8 degrees.
#[test]
fn a_boundary_is_met_exactly_on_both_sides() {
    let rules = [
        "under 5 deg        gives low",
        "5 deg through 8 deg gives standard",
        "over 8 deg         gives high",
    ];
    for (attack, grade) in [
        ("-4.9 deg", "low"),
        ("-5 deg", "standard"),
        ("-8 deg", "standard"),
        ("-8.1 deg", "high"),
        ("-4.9999999999 deg", "low"),
        ("-5.0000000000 deg", "standard"),
        ("-8.0000000000 deg", "standard"),
        ("-8.0000000001 deg", "high"),
    ] {
        let readings = format!("angle_of_attack = {attack}");
        assert_eq!(
            table("(-angle_of_attack)", &rules, &readings),
            grade,
            "{attack}"
        );
    }
    assert_eq!(
        table("(-angle_of_attack)", &rules, ""),
        "needs angle_of_attack"
    );
}

/// 34.5 in is 876.3 mm: 34.5 × 25.4.
#[test]
fn a_boundary_is_exact_across_units() {
    let rules = ["up to 34.5 in gives low", "over 34.5 in gives high"];
    assert_eq!(table("height", &rules, "height = 876.3 mm"), "low");
    assert_eq!(
        table("height", &rules, "height = 876.3000000001 mm"),
        "high"
    );
    let rules = ["under 876.3 mm gives low", "876.3 mm or more gives high"];
    assert_eq!(table("height", &rules, "height = 34 1/2 in"), "high");
    assert_eq!(table("height", &rules, "height = 34.4999999999 in"), "low");
}

const TWO_COLUMNS: [&str; 4] = [
    "yes and soft           gives high",
    "yes and firm or normal gives standard",
    "no  and any            gives low",
    "no  and any            gives low",
];

#[test]
fn if_exactly_one_row_is_not_out_it_decides_and_any_needs_no_reading() {
    let rows = &TWO_COLUMNS[..3];
    assert_eq!(table("keen and turf", rows, "keen = no"), "low");
    assert_eq!(
        table("keen and turf", rows, "keen = yes\nturf = soft"),
        "high"
    );
    assert_eq!(table("keen and turf", rows, "keen = yes"), "needs turf");
}

#[test]
fn what_would_tell_the_remaining_rows_apart_is_needed_and_nothing_else() {
    let rows = &TWO_COLUMNS[..3];
    // With soft turf the second row is out; the first and third differ in both columns, but the
    // turf is known.
    assert_eq!(table("keen and turf", rows, "turf = soft"), "needs keen");
    assert_eq!(table("keen and turf", rows, ""), "needs keen, turf");
}

#[test]
fn a_column_that_does_not_apply_makes_the_decision_not_apply() {
    let rows = ["under 90 mph gives low", "90 mph or more gives high"];
    assert_eq!(table("pace", &rows, "keen = no"), "none");
    assert_eq!(table("pace", &rows, "keen = yes\npace = 90 mph"), "high");
    let rows = [
        "under 90 mph gives low",
        "90 mph or more gives high",
        "none gives standard",
    ];
    assert_eq!(table("pace", &rows, "keen = no"), "standard");
    // Only `any` and conditions that list none accept it.
    let rows = [
        "under 90 mph and any    gives low",
        "90 mph or more and any  gives high",
        "none and soft           gives standard",
        "none and firm or normal gives low",
    ];
    assert_eq!(
        table("pace and turf", &rows, "keen = no\nturf = soft"),
        "standard"
    );
    assert_eq!(table("pace and turf", &rows, "keen = no"), "needs turf");
}

#[test]
fn a_row_unknown_makes_an_absent_reading_a_value() {
    let rows = [
        "soft gives high",
        "firm or normal gives standard",
        "unknown gives low",
    ];
    assert_eq!(table("turf", &rows, ""), "low");
    assert_eq!(table("turf", &rows, "turf = soft"), "high");
    let rows = [
        "soft           and any gives high",
        "firm or normal and yes gives standard",
        "firm or normal and no  gives low",
        "unknown        and yes gives standard",
        "unknown        and no  gives low",
    ];
    assert_eq!(table("turf and keen", &rows, "keen = no"), "low");
    // The turf is no cause: unknown is a value of its column.
    assert_eq!(table("turf and keen", &rows, ""), "needs keen");
}

#[test]
fn otherwise_is_out_when_another_row_is_certain() {
    let rows = ["soft gives high", "otherwise gives low"];
    assert_eq!(table("turf", &rows, "turf = soft"), "high");
    assert_eq!(table("turf", &rows, "turf = firm"), "low");
    assert_eq!(table("turf", &rows, ""), "needs turf");
    // A certain row needs nothing of the other column.
    let rows = [
        "yes and any gives high",
        "no and soft gives standard",
        "otherwise gives low",
    ];
    assert_eq!(table("keen and turf", &rows, "keen = yes"), "high");
    assert_eq!(table("keen and turf", &rows, "keen = no"), "needs turf");
    assert_eq!(table("keen and turf", &rows, "turf = firm"), "needs keen");
}

#[test]
fn first_takes_the_first_row_and_looks_no_further_than_a_certain_one() {
    let rows = [
        "yes and any  gives high",
        "any and soft gives standard",
        "any and any  gives low",
    ];
    assert_eq!(table("keen and turf, first", &rows, "keen = yes"), "high");
    assert_eq!(
        table("keen and turf, first", &rows, "keen = yes\nturf = soft"),
        "high"
    );
    assert_eq!(
        table("keen and turf, first", &rows, "keen = no\nturf = soft"),
        "standard"
    );
    assert_eq!(
        table("keen and turf, first", &rows, "keen = no\nturf = firm"),
        "low"
    );
    // The second row is certain, so the third is no candidate: the two differ in `keen` alone.
    assert_eq!(
        table("keen and turf, first", &rows, "turf = soft"),
        "needs keen"
    );
    assert_eq!(
        table("keen and turf, first", &rows, "keen = no"),
        "needs turf"
    );
}

#[test]
fn if_unknown_decides_where_several_rows_are_left() {
    let rows = ["soft gives high", "firm or normal gives standard"];
    assert_eq!(table("turf, if unknown gives low", &rows, ""), "low");
    assert_eq!(
        table("turf, if unknown gives low", &rows, "turf = soft"),
        "high"
    );
    // Where one row alone is left there is nothing unknown.
    let rows = &TWO_COLUMNS[..3];
    assert_eq!(
        table("keen and turf, if unknown gives high", rows, "keen = no"),
        "low"
    );
}

#[test]
fn cannot_happen_is_a_row_like_the_others_until_it_decides() {
    let rows = [
        "yes and soft           cannot happen because \"Nobody.\"",
        "yes and firm or normal gives standard",
        "no  and any            gives low",
    ];
    assert_eq!(
        table("keen and turf", &rows, "keen = yes\nturf = soft"),
        "contradicted 0.0"
    );
    assert_eq!(table("keen and turf", &rows, "keen = yes"), "needs turf");
    assert_eq!(
        table("keen and turf", &rows, "keen = no\nturf = soft"),
        "low"
    );
}

#[test]
fn an_undecided_column_hands_on_its_blockers_too() {
    let rules = format!(
        "{INPUTS}
decide first_grade : grade
  source common practice
  by turf
    soft           gives high
    firm or normal gives low

decide x : grade
  source common practice
  by first_grade and keen
    low             and any gives low
    standard        and any gives standard
    high            and yes gives high
    high            and no  gives standard
"
    );
    let answer = answer(&rules, "keen = yes");
    assert_eq!(answer.of("x"), "blocked by first_grade: turf");
    let trace = &answer.trace;
    let steps = trace
        .entries
        .iter()
        .filter_map(|entry| trace.steps(&entry.how));
    let remaining = steps.flatten().any(|step| {
        matches!(
            step,
            loftwright_engine::trace::StepTrace::Remaining { table: 0, rows, .. }
                if rows == &[0, 1, 2]
        )
    });
    assert!(remaining, "{trace:?}");
}
