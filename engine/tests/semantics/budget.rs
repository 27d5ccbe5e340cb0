//! The step budget: a rule that multiplies without end is stopped by name.

use crate::support::answer;

/// Six aggregates inside each other over fourteen clubs: 14⁶ are 7.5 million steps.
#[test]
fn a_node_that_runs_away_is_faulted() {
    let mut rules = "input how_many : count
  ask     \"How many?\"
  between 0 and 14

input wanted : count
  ask     \"Wanted?\"
  between 0 and 20

group wedge, as many as how_many
  has number : count
"
    .to_owned();
    let mut condition = "wanted over 15".to_owned();
    for _ in 0..6 {
        condition = format!("(number of wedges where {condition}) over 14");
    }
    rules.push_str(&format!("\nlet runs_away : flag = {condition}\n"));
    rules.push_str("\nlet walks : count = number of wedges where wanted over 15\n");
    let answer = answer(&rules, "how_many = 14\nwanted = 3");
    assert_eq!(answer.of("runs_away"), "faulted: step budget used up");
    // The others go on.
    assert_eq!(answer.of("walks"), "0");
}
