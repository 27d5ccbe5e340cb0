//! A player in, a bag out.

use loftwright_dsl::program::Program;
use loftwright_dsl::quantity::Date;

use crate::evaluate::evaluate;
use crate::explain;
use crate::parts::Parts;
use crate::player::Player;
use crate::recommendation::Recommendation;
use crate::trace::CompactTrace;

/// Evaluates a program for a player and explains what came out.
///
/// The same program, parts, player and day give the same answer on every machine.
pub fn fit(program: &Program, parts: &Parts, player: &Player, today: Date) -> Recommendation {
    fit_traced(program, parts, player, today).0
}

/// As [`fit`], with the trace that the answer was rendered from.
pub fn fit_traced(
    program: &Program,
    parts: &Parts,
    player: &Player,
    today: Date,
) -> (Recommendation, CompactTrace) {
    let mut trace = CompactTrace::default();
    let evaluation = evaluate(program, parts, player, today, &mut trace);
    let recommendation =
        explain::recommendation(program, parts, player, today, &evaluation, &trace);
    (recommendation, trace)
}
