//! `choose`: a part for a club.

use super::{Expression, ForEach, Name, Number, Source, Text};
use crate::syntax::Span;

/// `choose NAME from PARTS [, in each of its settings] [, for each G] [, after OTHER]`.
#[derive(Clone, Debug)]
pub struct Choose {
    /// The name.
    pub name: Name,
    /// The plural of the part.
    pub from: Name,
    /// `in each of its SETTINGS`: the list field.
    pub in_each: Option<Name>,
    /// The group it is chosen for.
    pub for_each: Option<ForEach>,
    /// `after OTHER`: the choices that draw on the stock before this one.
    pub after: Vec<Name>,
    /// `about "…"`.
    pub about: Option<Text>,
    /// Where it comes from.
    pub source: Option<Source>,
    /// `only when C`.
    pub only_when: Option<Expression>,
    /// `let N = E` for each candidate, in order.
    pub lets: Vec<CandidateLet>,
    /// `takes 1 from on_hand [, together]`.
    pub takes: Option<Takes>,
    /// `agrees on FIELD [when C]`.
    pub agrees_on: Vec<AgreesOn>,
    /// `needs …`
    pub needs: Vec<Needs>,
    /// `prefers …`
    pub prefers: Vec<Prefers>,
    /// `ties by F, smallest first, then G`.
    pub ties: Vec<TieBreak>,
    /// The ladder `if none on hand, …`.
    pub rungs: Vec<Rung>,
}

/// A value computed for each candidate.
#[derive(Clone, Debug)]
pub struct CandidateLet {
    /// The name.
    pub name: Name,
    /// The value.
    pub value: Expression,
}

/// `takes 1 from on_hand [, together]`.
#[derive(Clone, Debug)]
pub struct Takes {
    /// How many.
    pub count: Number,
    /// The stock field.
    pub from: Name,
    /// `together`, where it is written.
    pub together: Option<Span>,
}

/// `agrees on FIELD [when C]`.
#[derive(Clone, Debug)]
pub struct AgreesOn {
    /// Where it stands.
    pub span: Span,
    /// The field.
    pub field: Name,
    /// When.
    pub when: Option<Expression>,
}

/// `needs C [when D] [because "…"]`.
#[derive(Clone, Debug)]
pub struct Needs {
    /// Where it stands.
    pub span: Span,
    /// What must hold.
    pub condition: Expression,
    /// When.
    pub when: Option<Expression>,
    /// Why.
    pub because: Option<Text>,
}

/// `prefers X near Y, within Z weight W` or `prefers C weight W`.
#[derive(Clone, Debug)]
pub struct Prefers {
    /// Where it stands.
    pub span: Span,
    /// What is preferred.
    pub what: Preference,
    /// How much it counts.
    pub weight: Number,
    /// When.
    pub when: Option<Expression>,
    /// Why.
    pub because: Option<Text>,
}

/// What is preferred.
#[derive(Clone, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "a tree is read once and walked; a box would cost more words than it saves bytes"
)]
pub enum Preference {
    /// `X near Y, within Z`
    Near {
        /// The candidate's value.
        value: Expression,
        /// What it should be near.
        near: Expression,
        /// Where the score reaches zero.
        within: Expression,
    },
    /// A condition: the weight where it holds, zero where it does not.
    Holds(Expression),
}

/// One key of a tie-break.
#[derive(Clone, Debug)]
pub struct TieBreak {
    /// The candidate's field or let.
    pub by: Name,
    /// Whether the largest comes first.
    pub largest_first: bool,
}

/// A rung of the ladder.
#[derive(Clone, Debug)]
pub struct Rung {
    /// Where it stands.
    pub span: Span,
    /// What happens.
    pub kind: RungKind,
    /// `says "…"`.
    pub says: Option<Text>,
}

/// What happens when nothing on hand meets the needs.
#[derive(Clone, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "a tree is read once and walked; a box would cost more words than it saves bytes"
)]
pub enum RungKind {
    /// `needs …`: replaces the original line of the same subject.
    Needs(Needs),
    /// `orders`
    Orders,
    /// `leaves open`
    LeavesOpen,
}
