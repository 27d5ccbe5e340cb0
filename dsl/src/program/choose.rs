//! Choices of parts.

use super::{ChooseId, Expression, ForEach, Origin, PartId, Shown};
use crate::quantity::Rational;
use crate::syntax::Span;

/// A choice of a part.
#[derive(Clone, Debug)]
pub struct Choose {
    /// The name.
    pub name: String,
    /// Where it comes from and why.
    pub origin: Origin,
    /// The kind of part.
    pub part: PartId,
    /// `in each of its settings`: the list field, and the part of its records.
    pub in_each: Option<(usize, PartId)>,
    /// The group it is chosen for, in the order in which the clubs take from the stock.
    pub for_each: Option<ForEach>,
    /// The choices that take from the same stock before this one. Besides those written, the
    /// checker adds what makes the order of all choices that take from one part total.
    pub after: Vec<ChooseId>,
    /// When it is made at all.
    pub only_when: Option<Expression>,
    /// Values of each candidate, in order: each may use those before it.
    pub lets: Vec<CandidateLet>,
    /// How many pieces are taken from the stock; without it the stock is not asked.
    pub takes: Option<i64>,
    /// Whether all clubs share the stock by the assignment that costs least; else each takes in its
    /// turn.
    pub together: bool,
    /// The fields of the part in which all clubs' parts agree.
    pub agrees_on: Vec<AgreesOn>,
    /// What must hold.
    pub needs: Vec<Needs>,
    /// What is better.
    pub prefers: Vec<Prefers>,
    /// What breaks a tie before the ids do.
    pub ties: Vec<TieBreak>,
    /// What happens when nothing on hand meets the needs, in order.
    pub rungs: Vec<Rung>,
}

/// A value of the candidate at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CandidateValue {
    /// A field of the part or piece, by index.
    Field(usize),
    /// A `let` of the choice, by index.
    Let(usize),
    /// A field of the setting at hand, by index in the setting's part.
    Setting(usize),
}

/// A field in which the parts of all clubs agree.
#[derive(Clone, Debug)]
pub struct AgreesOn {
    /// The index of the field of the part.
    pub field: usize,
    /// When they must agree at all; asked once, outside any club.
    pub when: Option<Expression>,
    /// Where it stands.
    pub span: Span,
}

/// A value computed for each candidate.
#[derive(Clone, Debug)]
pub struct CandidateLet {
    /// The name.
    pub name: String,
    /// The value.
    pub value: Expression,
    /// How it is shown.
    pub shown: Shown,
}

/// A condition that a candidate must meet.
#[derive(Clone, Debug)]
pub struct Needs {
    /// The condition.
    pub condition: Expression,
    /// As it is written.
    pub text: String,
    /// The candidate's value that it speaks of first; a rung's line replaces the line with the same
    /// subject.
    pub subject: Option<CandidateValue>,
    /// When it is asked.
    pub when: Option<Expression>,
    /// Why.
    pub because: Option<String>,
    /// Where it stands.
    pub span: Span,
}

/// A preference and its weight.
#[derive(Clone, Debug)]
pub struct Prefers {
    /// What is preferred.
    pub what: Preference,
    /// As it is written.
    pub text: String,
    /// How much it counts.
    pub weight: Rational,
    /// When it is asked.
    pub when: Option<Expression>,
    /// Why.
    pub because: Option<String>,
}

/// What is preferred.
#[derive(Clone, Debug)]
pub enum Preference {
    /// Scores weight × max(0, 1 − |value − near| / within), exactly. On a scale the distance is
    /// counted in whole steps.
    Near {
        /// The candidate's value.
        value: Expression,
        /// What it should be near.
        near: Expression,
        /// Where the score reaches zero; on a scale, a number of whole steps.
        within: Expression,
    },
    /// Scores the weight where it holds, zero where it does not or is not known.
    Holds(Expression),
}

/// A key that breaks ties.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TieBreak {
    /// The candidate's value. One that is not known comes last.
    pub key: CandidateValue,
    /// Whether the largest comes first.
    pub largest_first: bool,
}

/// A rung of the ladder; each starts from the original needs.
#[derive(Clone, Debug)]
pub struct Rung {
    /// What happens.
    pub kind: RungKind,
    /// What is said.
    pub says: Option<String>,
}

/// What happens on a rung.
#[derive(Clone, Debug)]
pub enum RungKind {
    /// The original needs with the line of the same subject replaced by this one.
    Needs {
        /// The index of the line that is replaced; `None` where no line has the subject, so that
        /// the line is added.
        replaces: Option<usize>,
        /// The line.
        needs: Box<Needs>,
    },
    /// The best part of the catalogue by the original needs is ordered.
    Orders,
    /// The place stays open.
    LeavesOpen,
}
