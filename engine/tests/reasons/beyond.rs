//! A model that answers beyond what its source covers: the decision says so, the value stands.

use crate::support::{FLIGHT_CONTRACT, player, program_on, today};
use loftwright_engine::fit::fit_traced;
use loftwright_engine::parts::Parts;
use loftwright_engine::recommendation::{DecisionReport, Recommendation};
use loftwright_engine::trace::CompactTrace;

const RULES: &str = r#"
input ball_spin : spin
  ask     "Spin?"
  between 0 rpm and 15000 rpm

input irons : count
  ask     "How many irons?"
  between 0 and 9
  default 2

group iron, as many as irons
  has number : count

let carry = flight_carry(120 mph, 15 deg, ball_spin, 1.2 kg/m3)

let iron_spin, for each iron = ball_spin + iron.number * 3000 rpm

let iron_carry, for each iron = flight_carry(120 mph, 15 deg, iron_spin, 1.2 kg/m3)

let half = carry / 2

decide directly : length
  source common practice
  gives flight_carry(120 mph, 15 deg, ball_spin, 1.2 kg/m3)

decide through_lets : length
  source common practice
  gives half

decide by_rows : count
  source common practice
  by half
    under 90 yd    gives 1
    90 yd or more  gives 2

decide through_a_decision : length
  source common practice
  gives through_lets + 1 yd

decide by_club : length, for each iron
  source common practice
  gives iron_carry

decide farthest : length
  source common practice
  gives the largest iron_carry of iron

decide unrelated : angle
  source common practice
  gives 3 deg
"#;

fn answered(ball_spin: &str) -> (Recommendation, CompactTrace) {
    let program = program_on(FLIGHT_CONTRACT, RULES);
    let player = player(&program, &[("ball_spin", ball_spin)]);
    fit_traced(&program, &Parts::default(), &player, today())
}

fn of<'r>(found: &'r Recommendation, name: &str) -> Vec<&'r DecisionReport> {
    let named = |report: &&DecisionReport| report.name == name;
    found.decisions.iter().filter(named).collect()
}

const SAID: &str = "`flight_carry` rests on more than was measured: the spin in flight comes to \
                    9000 rpm, and Bearman & Harvey 1976 covers 1850 to 5560 rpm";

#[test]
fn the_decision_that_looked_at_it_says_so_itself_or_through_lets() {
    let (found, trace) = answered("9000 rpm");
    for name in ["directly", "through_lets", "by_rows"] {
        assert_eq!(of(&found, name)[0].beyond_literature, [SAID], "{name}");
    }
    for name in ["through_a_decision", "unrelated"] {
        assert!(of(&found, name)[0].beyond_literature.is_empty(), "{name}");
    }
    assert!(trace.models.iter().all(|call| call.beyond.is_some()));
}

#[test]
fn a_club_says_what_its_own_value_rests_on() {
    // 1000 + 3000 is in the tunnel's range, 1000 + 6000 is not.
    let (found, _) = answered("1000 rpm");
    let said: Vec<usize> = of(&found, "by_club")
        .iter()
        .map(|report| report.beyond_literature.len())
        .collect();
    assert_eq!(said, [0, 1]);
    assert_eq!(of(&found, "farthest")[0].beyond_literature.len(), 1);
}

#[test]
fn within_what_was_measured_nothing_is_said() {
    let (found, trace) = answered("2500 rpm");
    assert!(of(&found, "directly")[0].beyond_literature.is_empty());
    assert!(trace.models[0].beyond.is_none());
}
