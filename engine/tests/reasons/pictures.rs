//! What can be drawn of an answer, on small rules.

use crate::support::{FLIGHT_CONTRACT, player, program, program_on, today};
use loftwright_engine::fit::fit_with_pictures;
use loftwright_engine::parts::Parts;
use loftwright_engine::picture::Pictures;
use loftwright_engine::sure::Depth;

const WEDGES: &str = r#"
scale bounce_class is low < standard < high

input wedge_attack_angle : angle
  ask     "Angle of attack with a full wedge swing; negative is downward."
  between -20 deg and 10 deg
  spread  1.2 deg

input keen : flag
  ask "Keen?"

let steepness = -wedge_attack_angle * 2

decide wedge_bounce : bounce_class
  source common practice
  by steepness and keen
    under 10 deg      and any  gives low
    10 through 16 deg and any  gives standard
    over 16 deg       and no   gives standard
    over 16 deg       and yes  gives high
"#;

fn drawn(attack: &str) -> Pictures {
    let program = program(WEDGES);
    let player = player(&program, &[("wedge_attack_angle", attack), ("keen", "yes")]);
    fit_with_pictures(&program, &Parts::default(), &player, today(), Depth::Short).1
}

#[test]
fn a_borderline_decision_is_drawn_with_the_rows_that_the_other_columns_allow() {
    let found = drawn("-8.1 deg");
    let [bands] = found.bands.as_slice() else {
        panic!("one picture, found {:?}", found.bands);
    };
    assert_eq!(
        (bands.decision.as_str(), bands.unit.as_str()),
        ("wedge_bounce", "deg")
    );
    assert_eq!(
        (bands.column.as_str(), bands.input.as_str()),
        ("steepness", "wedge_attack_angle")
    );
    // Twice the reading, and twice its spread.
    assert!((bands.value - 16.2).abs() < 1e-9 && (bands.spread - 2.4).abs() < 1e-9);
    let told: Vec<_> = bands
        .bands
        .iter()
        .map(|band| (band.low, band.high, band.result.as_str(), band.is_taken))
        .collect();
    assert_eq!(
        told,
        [
            (None, Some(10.0), "low", false),
            (Some(10.0), Some(16.0), "standard", false),
            (Some(16.0), None, "high", true),
        ]
    );
}

#[test]
fn far_from_every_bound_nothing_is_drawn() {
    assert_eq!(drawn("-6.5 deg"), Pictures::default());
}

const BAG: &str = r#"
input ball_spin : spin
  ask     "Spin?"
  between 0 rpm and 15000 rpm

input clubs : count
  ask     "How many clubs?"
  between 0 and 9
  default 3

group club, as many as clubs
  has number : count

decide club_distance : length, for each club
  source common practice
  gives flight_carry(140 mph - club.number * 20 mph, 15 deg, ball_spin, 1.2 kg/m3)
"#;

#[test]
fn each_club_is_drawn_with_the_flight_that_its_carry_rests_on() {
    let program = program_on(FLIGHT_CONTRACT, BAG);
    let player = player(&program, &[("ball_spin", "5000 rpm")]);
    let (answer, found) =
        fit_with_pictures(&program, &Parts::default(), &player, today(), Depth::Short);
    assert_eq!(found.flights.len(), 3);
    for (flight, report) in found.flights.iter().zip(&answer.decisions) {
        assert_eq!(Some(&flight.club), report.club.as_ref());
        let carry_m = flight.points.last().map(|point| point.along_m);
        let exact = report.value.as_ref().map(|value| value.exact.clone());
        let decided_m: f64 = match exact.as_deref().map(|exact| exact.split_once('/')) {
            Some(Some((above, below))) => {
                above.parse::<f64>().unwrap() / below.parse::<f64>().unwrap()
            }
            _ => exact.unwrap().parse().unwrap(),
        };
        // The answer is rounded to 0.1 yd.
        assert!((carry_m.unwrap() - decided_m).abs() < 0.05);
    }
}
