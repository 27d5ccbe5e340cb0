//! Decisions.

use super::{Expression, GroupId, Origin, RowResult, Shown, Table, Type, Value};
use crate::quantity::Rounding;
use crate::syntax::Span;

/// A decision.
#[derive(Clone, Debug)]
pub struct Decision {
    /// The name.
    pub name: String,
    /// Where it comes from and why.
    pub origin: Origin,
    /// The type.
    pub value_type: Type,
    /// How its value is shown.
    pub shown: Shown,
    /// The group it is decided for, and the order along the bag.
    pub for_each: Option<ForEach>,
    /// When it applies at all.
    pub only_when: Option<Expression>,
    /// How it is decided.
    pub body: Body,
    /// What is done to the value afterwards.
    pub steps: Vec<Step>,
    /// What is promised of its values.
    pub promises: Vec<Promise>,
}

/// `[tested] never falls|rises as X rises|falls`, or `… along the bag`.
#[derive(Clone, Debug)]
pub struct Promise {
    /// Where it stands.
    pub span: Span,
    /// As it is written.
    pub text: String,
    /// Whether it is only tested at players, not proved.
    pub is_tested: bool,
    /// Whether it is *never falls*.
    pub never_falls: bool,
    /// Against what.
    pub against: PromiseAgainst,
}

/// What a promise is about.
#[derive(Clone, Debug)]
pub enum PromiseAgainst {
    /// The order along the bag.
    AlongTheBag,
    /// A value, all else the same.
    As {
        /// The value.
        what: Box<Expression>,
        /// As it is written.
        text: String,
        /// How its values are shown.
        shown: Shown,
        /// Whether it rises.
        rises: bool,
    },
}

impl Promise {
    /// Whether it allows that the value goes from one to another while that against which it is
    /// promised rises, or while the bag is walked.
    pub fn allows(&self, before: &Value, after: &Value) -> bool {
        let rises = match self.against {
            PromiseAgainst::AlongTheBag => true,
            PromiseAgainst::As { rises, .. } => rises,
        };
        if self.never_falls == rises {
            before <= after
        } else {
            before >= after
        }
    }
}

/// The group a declaration is evaluated for.
#[derive(Clone, Debug)]
pub struct ForEach {
    /// The group.
    pub group: GroupId,
    /// The order along the bag; without it, the group's own.
    pub order: Option<Order>,
}

/// An order along the bag; ties stay in the group's own order. A club whose key is not decided or
/// does not apply comes after the others.
#[derive(Clone, Debug)]
pub struct Order {
    /// The key: an expression of the member at hand.
    pub key: Expression,
    /// As it is written: the field's or decision's name.
    pub text: String,
    /// Whether the largest comes first.
    pub largest_first: bool,
}

/// How a decision comes about.
#[derive(Clone, Debug)]
pub enum Body {
    /// By rows.
    Table(Table),
    /// By an expression.
    Gives(Gives),
    /// Along a group.
    Progression(Box<Progression>),
}

/// An expression with its reason.
#[derive(Clone, Debug)]
pub struct Gives {
    /// The value.
    pub value: Expression,
    /// As it is written.
    pub text: String,
    /// Why.
    pub because: Option<String>,
}

/// A value along a group. Kept clubs take `kept` where it is said; of the others the first takes
/// `first` (also where there is only one), the last `last` where it is said, the rest `next`.
#[derive(Clone, Debug)]
pub struct Progression {
    /// For clubs the player keeps.
    pub kept: Option<Gives>,
    /// For the first club.
    pub first: Gives,
    /// For the clubs after it; without it, only one club may be there.
    pub next: Option<NextStep>,
    /// For the last club, where there is more than one.
    pub last: Option<Gives>,
}

/// What a later club takes.
#[derive(Clone, Debug)]
pub enum NextStep {
    /// An expression.
    Gives(Gives),
    /// Rows.
    Table(Table),
}

/// What is done to a value after it was given.
#[derive(Clone, Debug)]
pub enum Step {
    /// `then by …`: moves of several such tables are summed and stopped at the scale's ends once.
    Table(Table),
    /// `then kept within A and B`.
    KeptWithin {
        /// The lowest.
        low: Expression,
        /// The highest.
        high: Expression,
        /// As it is written.
        text: String,
    },
    /// `then rounded to U`.
    Rounded {
        /// The direction.
        rounding: Rounding,
        /// The unit.
        to: Expression,
        /// As it is written.
        text: String,
    },
    /// `then or if unknown X`.
    OrIfUnknown {
        /// What is taken instead.
        instead: Expression,
        /// As it is written.
        text: String,
    },
}

impl Decision {
    /// Every table of the decision with its number, counted from 0: the first table of the body,
    /// then those of the steps. Traces cite a row by table and row number.
    pub fn tables(&self) -> Vec<&Table> {
        let body = match &self.body {
            Body::Table(table) => Some(table),
            Body::Progression(progression) => match &progression.next {
                Some(NextStep::Table(table)) => Some(table),
                _ => None,
            },
            Body::Gives(_) => None,
        };
        let steps = self.steps.iter().filter_map(|step| match step {
            Step::Table(table) => Some(table),
            _ => None,
        });
        body.into_iter().chain(steps).collect()
    }
}

impl RowResult {
    /// Whether the row ends in *contradicted*.
    pub fn cannot_happen(&self) -> bool {
        matches!(self, RowResult::CannotHappen)
    }
}
