//! How a decision can end, and how what is not decided travels.
//!
//! While expressions are evaluated a value is in one of three [`State`]s. When a node of the graph
//! is done it has an [`Outcome`]. Absent is never a value: it travels with its causes.

use std::collections::BTreeSet;

use loftwright_dsl::program::{GroupId, InputId, Node, Value};
use loftwright_dsl::quantity::ArithmeticFault;

use crate::shelf::Item;

/// The state of a value on its way through expressions.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// A value.
    Known(Value),
    /// Does not apply.
    None,
    /// Not decided, and why.
    Undecided(Box<Undecided>),
}

/// Why a value is not decided. Sets are merged and ordered, so that no evaluation order shows.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Undecided {
    /// The decisions, choices, groups and lets next to the value that are not decided; empty where
    /// readings alone are missing.
    pub blocked_by: BTreeSet<Place>,
    /// The root causes.
    pub causes: BTreeSet<Cause>,
}

/// A node of the graph, for one club where it has several.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The node.
    pub node: Node,
    /// The place of the club in the node's group, counted from 0 in the group's own order.
    pub member: Option<usize>,
}

/// A root cause of an undecided value.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// A reading that was not given.
    Reading(InputId),
    /// A field of a club that is not known.
    ClubField {
        /// The group.
        group: GroupId,
        /// The place of the club, from 0.
        member: usize,
        /// The field's index.
        field: usize,
    },
    /// A field of a chosen or candidate part that is not known.
    PartField {
        /// The part's id in the program.
        part: loftwright_dsl::program::PartId,
        /// The field's index.
        field: usize,
    },
    /// A node that ended contradicted, outside range, infeasible, faulted, left open or with none
    /// on hand.
    Ended(Place),
}

/// The outcome of a node for one club (or for none).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// A value.
    Decided(Value),
    /// Readings are missing; they are named.
    Needs(BTreeSet<Cause>),
    /// Something it rests on is not decided.
    Blocked(Box<Undecided>),
    /// Does not apply.
    DoesNotApply,
    /// The readings contradict each other: a `cannot happen` row. Table and row, counted from 0.
    Contradicted {
        /// The table's number in the decision.
        table: usize,
        /// The row's number.
        row: usize,
    },
    /// A model was asked beyond its range.
    OutsideRange(Box<OutsideRange>),
    /// A group that cannot be made.
    Infeasible(Infeasible),
    /// Arithmetic without an answer.
    Faulted(Fault),
    /// A part was chosen from what is on hand.
    Chosen(Box<ChosenPart>),
    /// The best part of the catalogue is to be ordered.
    Ordered(Box<ChosenPart>),
    /// The ladder leaves the place open.
    LeftOpen,
    /// Nothing on hand meets the needs and the ladder says nothing else.
    NoneOnHand,
}

/// A model's argument beyond its declared range, or an answer that is no number.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct OutsideRange {
    /// The model.
    pub model: loftwright_dsl::program::ModelId,
    /// The argument's index; `None` where the answer itself is no number.
    pub argument: Option<usize>,
    /// What it was asked with.
    pub value: Option<Value>,
}

/// Why a group cannot be made: the maker's sentence, in lower case.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Infeasible(pub String);

/// A named fault at run time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, thiserror::Error)]
pub enum Fault {
    /// Exact arithmetic without an answer.
    #[error("{0}")]
    Arithmetic(ArithmeticFault),
    /// The step budget is used up.
    #[error("step budget used up")]
    StepBudget,
    /// A count that is not a whole number from 0 to 14 where clubs are to be made.
    #[error("not a number of clubs")]
    NotANumberOfClubs,
}

/// A part that was chosen for a club.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct ChosenPart {
    /// The index of the candidate in the parts of its kind.
    pub part: usize,
    /// The index of the piece; `None` where the part is only counted, or is ordered.
    pub piece: Option<usize>,
    /// The index of the setting in the list field.
    pub setting: Option<usize>,
    /// The values of the candidate's lets; not known where they rest on a reading that is missing.
    pub lets: Vec<State>,
    /// The rung of the ladder that led here, counted from 0; `None` for the original needs.
    pub rung: Option<usize>,
}

impl ChosenPart {
    /// What is taken of the stock.
    pub(crate) fn item(&self) -> Item {
        Item {
            part: self.part,
            piece: self.piece,
        }
    }
}
