//! `tested never falls …`: no counter-example at a fixed number of players.
//!
//! The players are spread evenly over the readings that the decision rests on. Each is evaluated
//! with the promise's own reading moved through its range, all else the same; the decision's value
//! is held against the value that the promise speaks of, which may lie behind lets and models.
//! Along the bag the values of one player's clubs are held against each other. This is no proof,
//! and the report says at how many players it was tested.

mod findings;
mod moved;
mod players;

use std::collections::BTreeMap;

use loftwright_dsl::diagnostic::Diagnostic;
use loftwright_dsl::program::{
    Decision, DecisionId, Expression, InputId, Node, Program, Promise, PromiseAgainst, Value,
};
use loftwright_dsl::quantity::Date;
use loftwright_dsl::syntax::Span;

use self::findings::Broken;
use self::moved::{Rests, values_of};
use self::players::Somebody;
use crate::evaluate::Evaluator;
use crate::outcome::{Outcome, Place, State};
use crate::parts::Parts;
use crate::trace::{CompactTrace, NoTrace};

/// How many players each promise is tested at.
pub const PLAYERS_A_PROMISE: i64 = 200;

/// A promise that was tested.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TestedPromise {
    /// The decision.
    pub decision: String,
    /// The promise as it is written.
    pub text: String,
    /// Where it stands.
    pub span: Span,
    /// At how many players it was tested.
    pub players: usize,
    /// How many pairs of values were held against each other.
    pub pairs: usize,
    /// Whether a player breaks it.
    pub is_broken: bool,
}

/// Tests every promise that says so; the findings are of those that are broken or say nothing.
pub(super) fn test_promises(
    program: &Program,
    today: Date,
) -> (Vec<TestedPromise>, Vec<Diagnostic>) {
    let is_any = program
        .decisions
        .iter()
        .any(|decision| decision.promises.iter().any(|promise| promise.is_tested));
    let (mut tested, mut diagnostics) = (Vec::new(), Vec::new());
    if !is_any {
        return (tested, diagnostics);
    }
    let rests = Rests::of(program);
    let parts = Parts::default();
    for (id, decision) in program.decisions.entries() {
        for promise in decision.promises.iter().filter(|one| one.is_tested) {
            let mut test = Test {
                program,
                evaluator: Evaluator::new(program),
                parts: &parts,
                today,
                id,
                decision,
                promise,
                players: 0,
                pairs: 0,
            };
            let found = match &promise.against {
                PromiseAgainst::AlongTheBag => test.along_the_bag(&rests),
                PromiseAgainst::As { what, .. } => match rests.inputs_of_expression(what)[..] {
                    [input] => test.as_it_moves(&rests, input, what),
                    ref several => {
                        diagnostics.push(findings::no_one_reading(program, promise, several));
                        continue;
                    }
                },
            };
            if found.is_none() && test.pairs == 0 {
                diagnostics.push(findings::says_nothing(decision, promise, test.players));
            }
            tested.push(TestedPromise {
                decision: decision.name.clone(),
                text: promise.text.clone(),
                span: promise.span,
                players: test.players,
                pairs: test.pairs,
                is_broken: found.is_some(),
            });
            diagnostics.extend(found.map(|found| findings::broken(&test, &found)));
        }
    }
    (tested, diagnostics)
}

/// One promise under test.
struct Test<'a> {
    program: &'a Program,
    evaluator: Evaluator<'a>,
    parts: &'a Parts,
    today: Date,
    id: DecisionId,
    decision: &'a Decision,
    promise: &'a Promise,
    players: usize,
    pairs: usize,
}

/// A value of the decision for one club, and where the promise's own value was.
#[derive(Clone, Debug)]
struct Point {
    at: Value,
    gives: Value,
    reading: Value,
}

impl Test<'_> {
    fn node(&self) -> Node {
        Node::Decision(self.id)
    }

    fn as_it_moves(&mut self, rests: &Rests, input: InputId, what: &Expression) -> Option<Broken> {
        let mut inputs = rests.inputs_below(self.node());
        inputs.retain(|other| *other != input);
        let values = values_of(self.program, input, &rests.below(self.node()));
        for number in 1..=PLAYERS_A_PROMISE {
            let somebody = Somebody::numbered(self.program, &inputs, number);
            self.players += 1;
            let mut clubs: BTreeMap<Option<usize>, Vec<Point>> = BTreeMap::new();
            for reading in &values {
                for (member, point) in self.points(&somebody, input, reading, what) {
                    clubs.entry(member).or_default().push(point);
                }
            }
            for (member, mut points) in clubs {
                points.sort_by(|one, other| one.at.cmp(&other.at));
                self.pairs += points.len().saturating_sub(1);
                if let Some((lower, higher)) = self.first_broken(&points) {
                    return Some(Broken::AsItMoves {
                        somebody,
                        input,
                        member,
                        lower,
                        higher,
                    });
                }
            }
        }
        None
    }

    /// What one player's clubs come to with the reading at a value.
    fn points(
        &self,
        somebody: &Somebody,
        input: InputId,
        reading: &Value,
        what: &Expression,
    ) -> Vec<(Option<usize>, Point)> {
        let mut moved = somebody.clone();
        moved.readings.insert(input, reading.clone());
        let (player, today) = moved.player(self.program, self.today);
        let evaluation = self
            .evaluator
            .evaluate(self.parts, &player, today, &mut NoTrace);
        let group = self.decision.for_each.as_ref().map(|each| each.group);
        let point = |(place, outcome): (Place, &Outcome)| {
            let Outcome::Decided(gives) = outcome else {
                return None;
            };
            let club = group.zip(place.member);
            let (program, parts) = (self.program, self.parts);
            let at = match evaluation.evaluate_at(program, parts, &player, today, what, club) {
                State::Known(at) => at,
                State::None | State::Undecided(_) => return None,
            };
            let point = Point {
                at,
                gives: gives.clone(),
                reading: reading.clone(),
            };
            Some((place.member, point))
        };
        let outcomes = evaluation.outcomes(self.node());
        outcomes.into_iter().filter_map(point).collect()
    }

    /// The first two of points in order that the promise does not allow. Points at the same value
    /// are not held against each other.
    fn first_broken(&self, points: &[Point]) -> Option<(Point, Point)> {
        let mut furthest: Option<&Point> = None;
        let mut waiting: Vec<&Point> = Vec::new();
        for point in points {
            if waiting.first().is_some_and(|first| first.at != point.at) {
                for passed in waiting.drain(..) {
                    let is_further = furthest
                        .is_none_or(|known| self.promise.allows(&known.gives, &passed.gives));
                    if is_further {
                        furthest = Some(passed);
                    }
                }
            }
            if let Some(known) = furthest
                && !self.promise.allows(&known.gives, &point.gives)
            {
                return Some((known.clone(), point.clone()));
            }
            waiting.push(point);
        }
        None
    }

    fn along_the_bag(&mut self, rests: &Rests) -> Option<Broken> {
        let inputs = rests.inputs_below(self.node());
        for number in 1..=PLAYERS_A_PROMISE {
            let somebody = Somebody::numbered(self.program, &inputs, number);
            self.players += 1;
            let (player, today) = somebody.player(self.program, self.today);
            let mut trace = CompactTrace::default();
            let evaluation = self
                .evaluator
                .evaluate(self.parts, &player, today, &mut trace);
            let own = trace
                .entries
                .iter()
                .filter(|entry| entry.place.node == self.node());
            let values: Vec<(Option<usize>, &Value)> = own
                .filter_map(|entry| match evaluation.outcome(entry.place)? {
                    Outcome::Decided(value) => Some((entry.place.member, value)),
                    _ => None,
                })
                .collect();
            self.pairs += values.len().saturating_sub(1);
            for (before, after) in values.iter().zip(values.iter().skip(1)) {
                if !self.promise.allows(before.1, after.1) {
                    return Some(Broken::AlongTheBag {
                        before: (before.0, before.1.clone()),
                        after: (after.0, after.1.clone()),
                        somebody,
                    });
                }
            }
        }
        None
    }
}
