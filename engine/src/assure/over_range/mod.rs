//! The proof of a case over a range.
//!
//! The range is cut wherever a condition of what the case looks at can change: a bound of a row, a
//! comparison, a clamp, a step of a rounding. Where those are is found by following values
//! that move with the reading along straight lines, exactly (`motion`, `expressions`, `nodes`,
//! `decisions`). Then the engine is run at every cut and inside every piece between two cuts.
//! Inside a piece everything that the case looks at is still, or a number on a line; what holds at
//! one player holds at all of them, and a number on a line is looked at twice. What cannot be
//! followed, such as a model that is asked with the reading, leaves the case tried and not proved.

mod axis;
mod decisions;
mod expressions;
mod motion;
mod nodes;

use std::collections::BTreeMap;

use loftwright_dsl::program::{
    Case, Expectation, ExpectationKind, GivenReading, InputId, Node, Program, Value, Valued,
};
use loftwright_dsl::quantity::{Date, Rational};

use self::axis::{Axis, Stretch};
use self::motion::{Motion, Piece};
use self::nodes::Follower;
use super::try_points::{TryPoint, try_point, try_points};
use crate::evaluate::evaluate;
use crate::parts::Parts;
use crate::trace::CompactTrace;

/// A case whose ranges fall into more pieces than this is tried, not proved.
const MOST_PIECES: usize = 600;
/// How often the pieces are cut anew.
const MOST_ROUNDS: usize = 30;

/// The players that a case is run for.
pub(super) struct Players {
    /// At least one.
    pub(super) points: Vec<TryPoint>,
    /// Why they are no proof; `None` where every player of the ranges comes out as one of them.
    pub(super) not_proved: Option<String>,
}

/// The players of a case. Without a range it is one.
pub(super) fn players(program: &Program, parts: &Parts, today: Date, case: &Case) -> Players {
    let mut axes: Vec<Axis> = case
        .given
        .iter()
        .filter_map(|(input, reading)| match reading {
            GivenReading::Through(from, to) => Some(Axis::new(program, *input, from, to)),
            _ => None,
        })
        .collect();
    for _ in 0..MOST_ROUNDS {
        match look(program, parts, today, case, &axes) {
            Looked::Settled(points) => {
                return Players {
                    points,
                    not_proved: None,
                };
            }
            Looked::Cut(cuts) => {
                let mut is_new = false;
                for (input, at) in cuts {
                    let axis = axes.iter_mut().find(|axis| axis.input == input);
                    is_new |= axis.is_some_and(|axis| axis.cut(at));
                }
                if !is_new {
                    return tried(program, case, "cuts that lead nowhere".to_owned());
                }
            }
            Looked::Lost(why) => return tried(program, case, why),
        }
    }
    tried(program, case, "very many cuts".to_owned())
}

/// A few players at fixed points.
fn tried(program: &Program, case: &Case, why: String) -> Players {
    Players {
        points: try_points(program, case),
        not_proved: Some(why),
    }
}

/// What a look at all pieces comes to.
enum Looked {
    /// Every piece is settled: these players stand for all.
    Settled(Vec<TryPoint>),
    /// The ranges must be cut here as well.
    Cut(Vec<(InputId, Rational)>),
    /// Something is not followed.
    Lost(String),
}

fn look(program: &Program, parts: &Parts, today: Date, case: &Case, axes: &[Axis]) -> Looked {
    let stretches: Vec<Vec<Stretch>> = axes.iter().map(Axis::stretches).collect();
    let count = stretches
        .iter()
        .try_fold(1_usize, |count, axis| count.checked_mul(axis.len()));
    if count.is_none_or(|count| count > MOST_PIECES) {
        return Looked::Lost(format!("more than {MOST_PIECES} pieces"));
    }
    let mut points = Vec::new();
    let mut cuts = Vec::new();
    for piece in all_pieces(axes, &stretches) {
        let point = try_point(program, case, middle_of(&piece));
        let looked = follow(program, parts, today, case, &point, &piece);
        points.push(point);
        match looked {
            Followed::Cuts(found) => cuts.extend(found),
            Followed::Lost(why) => return Looked::Lost(why),
            Followed::Still => {}
            Followed::OnALine => points.push(try_point(program, case, beside_middle_of(&piece))),
        }
    }
    if cuts.is_empty() {
        Looked::Settled(points)
    } else {
        Looked::Cut(cuts)
    }
}

type PieceOfAxes = Vec<(InputId, Stretch)>;

fn all_pieces(axes: &[Axis], stretches: &[Vec<Stretch>]) -> Vec<PieceOfAxes> {
    let mut pieces: Vec<PieceOfAxes> = vec![Vec::new()];
    for (axis, stretches) in axes.iter().zip(stretches) {
        let longer = pieces.iter().flat_map(|piece| {
            stretches.iter().map(move |stretch| {
                let mut longer = piece.clone();
                longer.push((axis.input, stretch.clone()));
                longer
            })
        });
        pieces = longer.collect();
    }
    pieces
}

fn middle_of(piece: &PieceOfAxes) -> Vec<(InputId, Value)> {
    let value = |stretch: &Stretch| match stretch {
        Stretch::At(value) => value.clone(),
        Stretch::Between { inside, .. } => Value::Number(inside.0),
    };
    piece
        .iter()
        .map(|(input, stretch)| (*input, value(stretch)))
        .collect()
}

fn beside_middle_of(piece: &PieceOfAxes) -> Vec<(InputId, Value)> {
    let value = |stretch: &Stretch| match stretch {
        Stretch::At(value) => value.clone(),
        Stretch::Between { inside, .. } => Value::Number(inside.1),
    };
    piece
        .iter()
        .map(|(input, stretch)| (*input, value(stretch)))
        .collect()
}

/// What following the values over one piece comes to.
enum Followed {
    Cuts(Vec<(InputId, Rational)>),
    Lost(String),
    Still,
    OnALine,
}

fn follow(
    program: &Program,
    parts: &Parts,
    today: Date,
    case: &Case,
    point: &TryPoint,
    piece: &PieceOfAxes,
) -> Followed {
    let open: BTreeMap<_, _> = piece
        .iter()
        .filter_map(|(input, stretch)| match stretch {
            Stretch::Between { low, high, inside } => Some((*input, (*low, inside.0, *high))),
            Stretch::At(_) => None,
        })
        .collect();
    if open.is_empty() {
        return Followed::Still;
    }
    let today = point.today.unwrap_or(today);
    let mut trace = CompactTrace::default();
    let evaluation = evaluate(program, parts, &point.player, today, &mut trace);
    let piece = Piece {
        open,
        ..Piece::default()
    };
    let player = (&point.player, today);
    let mut follower = Follower::new(program, parts, player, (&evaluation, &trace), piece);
    let mut is_on_a_line = false;
    for motion in case
        .expect
        .iter()
        .flat_map(|line| follower.node(node_of(line)))
    {
        match motion {
            Motion::Still => {}
            Motion::Line(_) => is_on_a_line = true,
            Motion::Lost(why) => return Followed::Lost(why),
        }
    }
    match (follower.piece.cuts, is_on_a_line) {
        (cuts, _) if !cuts.is_empty() => Followed::Cuts(cuts),
        (_, true) => Followed::OnALine,
        (_, false) => Followed::Still,
    }
}

/// What a line of a case looks at.
fn node_of(line: &Expectation) -> Node {
    match &line.kind {
        ExpectationKind::Caution(id, _) => Node::Caution(*id),
        ExpectationKind::Limit(id, _) => Node::Limit(*id),
        ExpectationKind::CannotHappen(id) => Node::Decision(*id),
        ExpectationKind::Every(valued, _)
        | ExpectationKind::Needs(valued, _)
        | ExpectationKind::Values(valued, _)
        | ExpectationKind::OfMember(valued, ..) => match valued {
            Valued::Decision(id) => Node::Decision(*id),
            Valued::Let(id) => Node::Let(*id),
            Valued::Choose(id) => Node::Choose(*id),
        },
    }
}
