//! `case` and `drop case`.

use super::{Literal, Name, Position, Text};
use crate::syntax::Span;

/// `case "TITLE"` with what is given and what is expected.
#[derive(Clone, Debug)]
pub struct Case {
    /// The title, which is its name.
    pub title: Text,
    /// What is given.
    pub given: Vec<Given>,
    /// `with stock "NAME"`.
    pub with_stock: Option<Text>,
    /// What is expected.
    pub expect: Vec<Expect>,
}

/// `given NAME = …` or `given kept.1.loft = …`.
#[derive(Clone, Debug)]
pub struct Given {
    /// Where it stands.
    pub span: Span,
    /// The input, or the group of given clubs.
    pub name: Name,
    /// Of a given club: its number, counted from 1, and the field.
    pub member: Option<(u32, Name)>,
    /// What it is.
    pub value: GivenValue,
}

/// What a reading is given as.
#[derive(Clone, Debug)]
pub enum GivenValue {
    /// `unknown`
    Unknown,
    /// A value.
    Exact(Literal),
    /// `A through B`: every value of the range.
    Through(Literal, Literal),
}

/// `expect …`.
#[derive(Clone, Debug)]
pub struct Expect {
    /// Where it stands.
    pub span: Span,
    /// What is expected.
    pub kind: ExpectKind,
}

/// The forms of an expectation.
#[derive(Clone, Debug)]
pub enum ExpectKind {
    /// `[no] caution NAME`
    Caution {
        /// Whether it must be raised.
        raised: bool,
        /// The caution.
        name: Name,
    },
    /// `[no] limit NAME`: broken, or with `no` not broken.
    Limit {
        /// Whether it must be broken.
        broken: bool,
        /// The limit.
        name: Name,
    },
    /// `every NAME = V`
    Every {
        /// The decision.
        name: Name,
        /// The value of each member.
        value: Literal,
    },
    /// `NAME needs READING`
    Needs {
        /// The decision.
        name: Name,
        /// The reading.
        reading: Name,
    },
    /// `NAME cannot happen`
    CannotHappen {
        /// The decision.
        name: Name,
    },
    /// `NAME = V`, or a list along the bag.
    Values {
        /// The decision.
        name: Name,
        /// One value, or one a member in the decision's order.
        values: Vec<Literal>,
    },
    /// `NAME of the first G = V`
    OfMember {
        /// The decision.
        name: Name,
        /// Which member.
        position: Position,
        /// The group.
        group: Name,
        /// The value.
        value: Literal,
    },
}

/// `drop case "TITLE" because "…"`.
#[derive(Clone, Debug)]
pub struct DropCase {
    /// The case's title.
    pub title: Text,
    /// Why.
    pub because: Text,
}
