//! Limits and cautions on small rules.

use crate::support::{player, program, today};
use loftwright_engine::fit::fit;
use loftwright_engine::parts::Parts;
use loftwright_engine::recommendation::{LimitAnswer, Recommendation};

const RULES: &str = r#"
input bend : angle
  ask     "How far is the head bent?"
  between -10 deg and 10 deg

input irons : count
  ask     "How many irons?"
  between 0 and 9
  default 3

group iron, as many as irons
  has number : count

let most_bend = 2 deg

limit few_irons : irons at most 7
  source "A rule for tests, 1.2"
  says   "{irons} irons are too many."

limit of_old : irons at most 1
  in force from 2030-01-01

limit bend_is_small : the size of bend at most most_bend

caution bent_too_far, for each iron : the size of bend over most_bend
  source common practice
  says   "{bend} of bend; this head takes {most_bend}: change the head."

caution long_iron, for each iron : iron.number under 3
  says   "Iron {iron.number} is long."
"#;

fn recommended(readings: &[(&str, &str)]) -> Recommendation {
    let program = program(RULES);
    fit(
        &program,
        &Parts::default(),
        &player(&program, readings),
        today(),
    )
}

fn answer(found: &Recommendation, name: &str) -> (LimitAnswer, Option<String>) {
    let limit = found
        .limits
        .iter()
        .find(|limit| limit.name == name)
        .unwrap_or_else(|| panic!("no limit {name}"));
    (limit.answer, limit.text.clone())
}

#[test]
fn a_limit_holds_is_broken_is_not_known_or_not_asked() {
    let found = recommended(&[("irons", "8")]);
    assert_eq!(
        answer(&found, "few_irons"),
        (
            LimitAnswer::Broken,
            Some("8 irons are too many.".to_owned())
        )
    );
    assert_eq!(
        answer(&found, "of_old"),
        (
            LimitAnswer::NotAsked,
            Some("not in force on 2026-05-01".to_owned())
        )
    );
    assert_eq!(
        answer(&found, "bend_is_small"),
        (LimitAnswer::NotKnown, Some("needs `bend`".to_owned()))
    );
    let found = recommended(&[("irons", "7"), ("bend", "-2 deg")]);
    assert_eq!(answer(&found, "few_irons").0, LimitAnswer::Holds);
    assert_eq!(answer(&found, "bend_is_small").0, LimitAnswer::Holds);
    assert_eq!(
        found.limits[0].source.as_deref(),
        Some("A rule for tests, 1.2")
    );
}

#[test]
fn a_caution_is_told_once_for_all_clubs_of_which_it_says_the_same() {
    let found = recommended(&[("bend", "-2.5 deg")]);
    let mut cautions: Vec<_> = found
        .cautions
        .iter()
        .map(|caution| (caution.text.as_str(), caution.clubs.join(", ")))
        .collect();
    cautions.sort();
    assert_eq!(
        cautions,
        [
            (
                "-2.5 deg of bend; this head takes 2 deg: change the head.",
                "iron 1, iron 2, iron 3".to_owned()
            ),
            ("Iron 1 is long.", "iron 1".to_owned()),
            ("Iron 2 is long.", "iron 2".to_owned()),
        ]
    );
}

#[test]
fn a_reading_that_only_a_caution_waits_for_is_missing_too() {
    let found = recommended(&[]);
    let [missing] = found.missing.as_slice() else {
        panic!("one reading is missing, found {:?}", found.missing);
    };
    assert_eq!(missing.input, "bend");
    assert_eq!(missing.ask.as_deref(), Some("How far is the head bent?"));
    assert_eq!(missing.decisions, ["bend_is_small", "bent_too_far"]);
}
