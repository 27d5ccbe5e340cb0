//! A player in, a bag out.

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;

use crate::evaluate::Evaluator;
use crate::explain;
use crate::parts::Parts;
use crate::picture::Pictures;
use crate::player::Player;
use crate::recommendation::Recommendation;
use crate::sure::Depth;
use crate::trace::CompactTrace;

/// Evaluates a program for a player and explains what came out.
///
/// The same program, parts, player and day give the same answer on every machine.
pub fn fit(program: &Program, parts: &Parts, player: &Player, today: Date) -> Recommendation {
    fit_to_depth(program, parts, player, today, Depth::Short)
}

/// As [`fit`], with as much about how sure it is as `depth` says.
pub fn fit_to_depth(
    program: &Program,
    parts: &Parts,
    player: &Player,
    today: Date,
    depth: Depth,
) -> Recommendation {
    traced_to_depth(program, parts, player, today, depth).0
}

/// As [`fit`], with the trace that the answer was rendered from.
pub fn fit_traced(
    program: &Program,
    parts: &Parts,
    player: &Player,
    today: Date,
) -> (Recommendation, CompactTrace) {
    traced_to_depth(program, parts, player, today, Depth::Short)
}

/// As [`fit_to_depth`], with what can be drawn of the answer.
pub fn fit_with_pictures(
    program: &Program,
    parts: &Parts,
    player: &Player,
    today: Date,
    depth: Depth,
) -> (Recommendation, Pictures) {
    let evaluator = Evaluator::new(program);
    let mut trace = CompactTrace::default();
    let evaluation = evaluator.evaluate(parts, player, today, &mut trace);
    let facts = (&evaluation, &trace);
    let recommendation = explain::recommendation(&evaluator, parts, player, today, facts, depth);
    let pictures = explain::pictures(&evaluator, parts, player, today, facts, &recommendation);
    (recommendation, pictures)
}

fn traced_to_depth(
    program: &Program,
    parts: &Parts,
    player: &Player,
    today: Date,
    depth: Depth,
) -> (Recommendation, CompactTrace) {
    let evaluator = Evaluator::new(program);
    let mut trace = CompactTrace::default();
    let evaluation = evaluator.evaluate(parts, player, today, &mut trace);
    let facts = (&evaluation, &trace);
    let recommendation = explain::recommendation(&evaluator, parts, player, today, facts, depth);
    (recommendation, trace)
}
