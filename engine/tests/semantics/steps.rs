//! The steps after the first table.

use crate::support::answer;

const INPUTS: &str = r#"
input pace : speed
  ask     "Pace?"
  between 30 mph and 150 mph

choice tempo_kind is smooth, normal, quick

input tempo : tempo_kind
  ask "Tempo?"

input keen : flag
  ask "Keen?"

input never : flag
  ask       "Never?"
  only when keen is yes

scale flex is ladies < senior < regular < stiff, in halves
"#;

const BODY: &str = "  by pace
    under 75 mph           gives ladies
    75 mph to under 95 mph gives regular
    95 mph or more         gives stiff
";

fn flex(steps: &str, readings: &str) -> String {
    let rules = format!("{INPUTS}\ndecide x : flex\n  source common practice\n{BODY}{steps}\n");
    answer(&rules, readings).of("x")
}

fn number(body: &str, readings: &str) -> String {
    let rules = format!("{INPUTS}\ndecide x : speed\n  source common practice\n{body}\n");
    answer(&rules, readings).of("x")
}

const TEMPO: &str = "  then by tempo
    quick  moves up 1/2
    normal keeps
    smooth moves down 1/2
";
const KEEN: &str = "  then by keen
    yes moves up 1
    no  moves down 1
";

#[test]
fn rows_move_up_and_down() {
    assert_eq!(
        flex(TEMPO, "pace = 80 mph\ntempo = quick"),
        "regular plus 1/2"
    );
    assert_eq!(flex(TEMPO, "pace = 80 mph\ntempo = normal"), "regular");
    assert_eq!(
        flex(TEMPO, "pace = 80 mph\ntempo = smooth"),
        "senior plus 1/2"
    );
}

/// Half a step beyond the end, then one back: were each stopped by itself, the order would show.
#[test]
fn moves_are_summed_and_stopped_once() {
    let steps = format!("{TEMPO}{KEEN}");
    let swapped = format!("{KEEN}{TEMPO}");
    for steps in [&steps, &swapped] {
        assert_eq!(
            flex(steps, "pace = 100 mph\ntempo = quick\nkeen = no"),
            "regular plus 1/2"
        );
        assert_eq!(
            flex(steps, "pace = 100 mph\ntempo = quick\nkeen = yes"),
            "stiff"
        );
        assert_eq!(
            flex(steps, "pace = 60 mph\ntempo = smooth\nkeen = yes"),
            "ladies plus 1/2"
        );
    }
}

#[test]
fn an_undecided_step_makes_the_decision_undecided() {
    assert_eq!(flex(TEMPO, "pace = 80 mph"), "needs tempo");
    let keeps = TEMPO.replace("by tempo", "by tempo, if unknown keeps");
    assert_eq!(flex(&keeps, "pace = 80 mph"), "regular");
    assert_eq!(
        flex(&keeps, "pace = 80 mph\ntempo = quick"),
        "regular plus 1/2"
    );
}

/// Every reading that is missing is named at once.
#[test]
fn an_undecided_value_goes_through_the_steps() {
    assert_eq!(flex(TEMPO, ""), "needs pace, tempo");
    assert_eq!(flex(TEMPO, "tempo = quick"), "needs pace");
}

#[test]
fn gives_takes_the_place_of_the_value_so_far() {
    let steps = "  then by keen
    yes gives senior
    no  keeps
";
    assert_eq!(flex(steps, "pace = 100 mph\nkeen = yes"), "senior");
    assert_eq!(flex(steps, "pace = 100 mph\nkeen = no"), "stiff");
    // The move waits until the end and is applied to what was given.
    let steps = format!("{TEMPO}{steps}");
    assert_eq!(
        flex(&steps, "pace = 100 mph\ntempo = quick\nkeen = yes"),
        "senior plus 1/2"
    );
}

#[test]
fn adds_and_takes_off_change_it_at_once_then_kept_and_rounded_in_the_order_written() {
    let body = "  gives pace * 2
  then by tempo
    quick  adds 3 mph
    normal takes off 3 mph
    smooth keeps
";
    assert_eq!(number(body, "pace = 50 mph\ntempo = quick"), "103 mph");
    assert_eq!(number(body, "pace = 50 mph\ntempo = normal"), "97 mph");
    let kept_first =
        format!("{body}  then kept within 0 mph and 99 mph\n  then rounded to 10 mph\n");
    assert_eq!(
        number(&kept_first, "pace = 50 mph\ntempo = quick"),
        "100 mph"
    );
    let rounded_first =
        format!("{body}  then rounded to 10 mph\n  then kept within 0 mph and 99 mph\n");
    assert_eq!(
        number(&rounded_first, "pace = 50 mph\ntempo = quick"),
        "99 mph"
    );
}

#[test]
fn tables_are_not_asked_once_the_value_is_none() {
    let body = "  gives if keen is yes then pace otherwise none
  then by tempo
    quick            adds 3 mph
    normal or smooth keeps
";
    assert_eq!(number(body, "pace = 50 mph\nkeen = no"), "none");
    assert_eq!(number(body, "pace = 50 mph\nkeen = yes"), "needs tempo");
}

#[test]
fn a_step_whose_column_does_not_apply_makes_the_decision_not_apply() {
    let steps = "  then by never
    yes moves up 1/2
    no  keeps
";
    assert_eq!(flex(steps, "pace = 80 mph\nkeen = no"), "none");
    assert_eq!(
        flex(steps, "pace = 80 mph\nkeen = yes\nnever = yes"),
        "regular plus 1/2"
    );
}

#[test]
fn contradicted_in_a_step_names_its_table() {
    let steps = "  then by tempo
    quick  cannot happen because \"Nobody.\"
    normal keeps
    smooth keeps
";
    assert_eq!(
        flex(steps, "pace = 80 mph\ntempo = quick"),
        "contradicted 1.0"
    );
}

#[test]
fn the_trace_has_every_step_and_says_when_an_end_stopped_it() {
    use loftwright_engine::trace::StepTrace;
    let rules = format!("{INPUTS}\ndecide x : flex\n  source common practice\n{BODY}{TEMPO}\n");
    let answer = answer(&rules, "pace = 100 mph\ntempo = quick");
    let node = answer.node("x");
    let entry = answer
        .trace
        .entries
        .iter()
        .find(|entry| entry.place.node == node)
        .unwrap();
    let Some(steps) = answer.trace.steps(&entry.how) else {
        panic!("{entry:?}")
    };
    assert!(matches!(
        steps[0],
        StepTrace::Row {
            table: 0,
            row: 2,
            value: Some(_),
            ..
        }
    ));
    assert!(matches!(
        steps[1],
        StepTrace::Row {
            table: 1,
            row: 0,
            value: None,
            ..
        }
    ));
    assert!(matches!(
        steps[2],
        StepTrace::Moved {
            half_steps: 1,
            stopped: true,
            ..
        }
    ));
    assert_eq!(steps.len(), 3);
}
