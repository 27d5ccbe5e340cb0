//! Promises against brute force: made-up decisions, every player of a grid.
//!
//! The grid meets every cell of every column, so a promise is proved if and only if no two players
//! of the grid who differ in its reading alone break it; and what is said to break it does, when
//! the engine is asked.

use loftwright_dsl::analysis::{CounterExample, PromiseProof, prove_promise};
use loftwright_dsl::diagnostic::{Code, Severity};
use loftwright_dsl::program::{DecisionId, Node, Program, Promise, PromiseAgainst, Value};
use loftwright_dsl::quantity::Date;
use loftwright_engine::assure::run_cases;
use loftwright_engine::evaluate::Evaluator;
use loftwright_engine::outcome::{Outcome, Place};
use loftwright_engine::parts::Parts;
use loftwright_engine::player::Player;
use loftwright_engine::trace::NoTrace;
use loftwright_tests::generator::Random;
use loftwright_tests::made_up::{Decision, checked, grid, player};

const DECISIONS: u64 = 120;
const COLUMNS: [&str; 5] = ["lean", "rounds", "pace", "turf", "lefty"];
const ORDERED: [&str; 3] = ["lean", "rounds", "pace"];

fn today() -> Date {
    Date::parse("2026-05-01").unwrap()
}

struct Made {
    program: Program,
    id: DecisionId,
}

impl Made {
    /// The promise is written as tested, so that the checker lets it pass whatever it is worth.
    fn new(decision: &Decision) -> Self {
        let output = decision.checked();
        let program = output
            .program
            .unwrap_or_else(|| panic!("{:#?}\n{}", output.diagnostics, decision.rules()));
        let id = program
            .decisions
            .entries()
            .find(|(_, one)| one.name == "made")
            .unwrap()
            .0;
        Made { program, id }
    }

    fn promise(&self) -> &Promise {
        &self.program.decisions[self.id].promises[0]
    }

    fn proof(&self) -> PromiseProof {
        let promise = self.promise();
        let PromiseAgainst::As { what, .. } = &promise.against else {
            panic!("a promise of a reading");
        };
        prove_promise(
            &self.program,
            &self.program.decisions[self.id],
            promise,
            what,
        )
    }

    fn gives(&self, evaluator: &Evaluator<'_>, player: &Player) -> Option<Value> {
        let evaluation = evaluator.evaluate(&Parts::default(), player, today(), &mut NoTrace);
        let place = Place {
            node: Node::Decision(self.id),
            member: None,
        };
        match evaluation.outcome(place) {
            Some(Outcome::Decided(value)) => Some(value.clone()),
            _ => None,
        }
    }

    /// Whether two players of the grid who differ in `reading` alone break the promise.
    fn is_broken_on_the_grid(&self, decision: &Decision, reading: &str) -> bool {
        let evaluator = Evaluator::new(&self.program);
        let others: Vec<&str> = decision
            .columns()
            .into_iter()
            .filter(|column| *column != reading)
            .collect();
        let mut rest: Vec<Vec<(&str, Option<Value>)>> = vec![Vec::new()];
        for other in others {
            let values = grid(&self.program, other, true);
            let longer = rest.iter().flat_map(|known| {
                values.iter().map(move |value| {
                    let mut longer = known.clone();
                    longer.push((other, value.clone()));
                    longer
                })
            });
            rest = longer.collect();
        }
        let values = grid(&self.program, reading, false);
        rest.iter().any(|fixed| {
            let mut given: Vec<Value> = Vec::new();
            for value in &values {
                let mut readings = fixed.clone();
                readings.push((reading, value.clone()));
                let player = player(&self.program, &readings);
                given.extend(self.gives(&evaluator, &player));
            }
            let pairs = given.iter().enumerate();
            pairs
                .flat_map(|(place, before)| given.iter().skip(place + 1).map(move |b| (before, b)))
                .any(|(before, after)| !self.promise().allows(before, after))
        })
    }

    /// The engine is asked for both players.
    fn confirm(&self, reading: &str, found: &CounterExample) {
        let evaluator = Evaluator::new(&self.program);
        let gives = |at: &Value| {
            let mut readings: Vec<(&str, Option<Value>)> = found
                .fixed
                .iter()
                .map(|(name, value)| (name.as_str(), value.clone()))
                .collect();
            readings.push((reading, Some(at.clone())));
            self.gives(&evaluator, &player(&self.program, &readings))
        };
        assert!(found.lower.at < found.higher.at);
        assert_eq!(gives(&found.lower.at).as_ref(), Some(&found.lower.gives));
        assert_eq!(gives(&found.higher.at).as_ref(), Some(&found.higher.gives));
        assert!(
            !self
                .promise()
                .allows(&found.lower.gives, &found.higher.gives)
        );
    }
}

#[test]
fn a_promise_is_proved_where_no_player_breaks_it_and_nowhere_else() {
    let (mut proved, mut broken) = (0, 0);
    for seed in 0..DECISIONS {
        let mut random = Random(seed);
        // Three columns at the most, so that the grid stays small.
        let mut columns = COLUMNS.to_vec();
        while columns.len() > 3 {
            columns.remove(random.below(columns.len()));
        }
        let mut decision = Decision::new(&mut random, &columns);
        let used: Vec<&str> = decision
            .columns()
            .into_iter()
            .filter(|column| ORDERED.contains(column))
            .collect();
        let Some(reading) = used.first().copied() else {
            continue;
        };
        for line in ["never falls", "never rises"] {
            for way in ["rises", "falls"] {
                decision.promises = vec![format!("tested {line} as {reading} {way}")];
                let made = Made::new(&decision);
                let on_the_grid = made.is_broken_on_the_grid(&decision, reading);
                match made.proof() {
                    PromiseProof::Proved => {
                        proved += 1;
                        assert!(!on_the_grid, "seed {seed}: proved\n{}", decision.rules());
                    }
                    PromiseProof::Broken(found) => {
                        broken += 1;
                        made.confirm(reading, &found);
                        assert!(on_the_grid, "seed {seed}: broken\n{}", decision.rules());
                    }
                    PromiseProof::NotProvable(why, _) => panic!("seed {seed}: {why}"),
                }
            }
        }
    }
    assert!(
        proved > 40 && broken > 40,
        "{proved} proved, {broken} broken"
    );
}

/// What is tested at players is never called broken where it is proved; and these few are found.
#[test]
fn what_is_proved_is_kept_by_every_player_who_is_tried() {
    let mut found = 0;
    for seed in 0..25 {
        let mut random = Random(seed);
        let mut decision = Decision::new(&mut random, &["lean", "turf"]);
        if !decision.columns().contains(&"lean") {
            continue;
        }
        decision.promises = vec!["tested never falls as lean rises".to_owned()];
        let made = Made::new(&decision);
        let report = run_cases(&made.program, &Default::default(), today());
        let is_broken = report.promises[0].is_broken;
        found += usize::from(is_broken);
        let is_proved = matches!(made.proof(), PromiseProof::Proved);
        assert!(
            !(is_broken && is_proved),
            "seed {seed}\n{}",
            decision.rules()
        );
        // Two columns only: two hundred players are enough to find what there is.
        assert!(is_broken || is_proved, "seed {seed}\n{}", decision.rules());
    }
    assert!(found > 5, "{found} found");
}

const ALONG: &str = "ruleset house
  title    \"Along the bag\"
  language 1

input clubs : count
  ask     \"How many?\"
  between 0 and 6

input lean : angle
  ask     \"Lean.\"
  between 0 deg and 6 deg

scale grade is poor < fair < good, in halves

group iron, as many as clubs
  has number : count

";

/// Whether a promise along the bag is proved, and whether the engine finds it broken when it is
/// only tested.
fn along(decision: &str) -> (Option<Code>, bool) {
    let found = checked(&format!("{ALONG}{decision}\n  never falls along the bag\n"));
    let errors = found.diagnostics.iter();
    let code = errors
        .filter(|finding| finding.severity == Severity::Error)
        .map(|finding| finding.code)
        .next();
    let tested = checked(&format!(
        "{ALONG}{decision}\n  tested never falls along the bag\n"
    ));
    let program = tested.program.unwrap_or_else(|| panic!("{decision}"));
    let report = run_cases(&program, &Default::default(), today());
    (code, report.promises[0].is_broken)
}

#[test]
fn along_the_bag_the_forms_that_are_proved_hold_for_every_player_tried() {
    let kept = [
        "decide made : angle, for each iron in order of number\n  first gives lean\n  \
         next gives previous + 1/2 deg",
        "decide made : grade, for each iron in order of number\n  first gives fair\n  \
         next gives previous moved up 1/2",
        "decide made : angle, for each iron in order of number\n  first gives 1 deg\n  \
         next gives 2 deg\n  last gives 2 deg",
        "decide made : angle, for each iron in order of number\n  first gives lean\n  \
         next gives previous + 1.25 deg\n  then kept within 1 deg and 3 deg\n  \
         then rounded to 1/2 deg",
        "decide made : angle, for each iron in order of number\n  by number and lean\n    \
         up to 2 and any gives 1 deg\n    over 2 and under 3 deg gives 1 deg\n    \
         over 2 and 3 deg or more gives 4 deg",
        "decide made : angle, for each iron\n  gives lean + 1 deg",
    ];
    for decision in kept {
        assert_eq!(along(decision), (None, false), "{decision}");
    }
    let broken = [
        "decide made : angle, for each iron in order of number\n  first gives lean\n  \
         next gives previous - 1/2 deg",
        "decide made : angle, for each iron in order of number, largest first\n  by number\n    \
         up to 2 gives 1 deg\n    over 2 gives 4 deg",
        "decide made : angle, for each iron in order of number\n  first gives 3 deg\n  \
         next gives 2 deg",
    ];
    for decision in broken {
        assert_eq!(
            along(decision),
            (Some(Code::PromiseBroken), true),
            "{decision}"
        );
    }
    let not_provable = [
        (
            "decide made : angle, for each iron in order of number\n  gives 1 deg * number",
            false,
        ),
        (
            "decide made : angle, for each iron in order of number\n  first gives lean\n  \
             next gives 3 deg",
            true,
        ),
        (
            "decide made : angle, for each iron in order of number\n  first gives lean\n  \
             next gives previous\n  then rounded to 1 deg\n  then kept within 1 deg and 2.4 deg",
            true,
        ),
    ];
    for (decision, is_broken) in not_provable {
        assert_eq!(
            along(decision),
            (Some(Code::PromiseNotProvable), is_broken),
            "{decision}"
        );
    }
}
