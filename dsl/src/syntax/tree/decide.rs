//! `decide`: rows, steps, expressions and progressions.

use super::{Expression, ForEach, Literal, Name, Post, ShownIn, Source, Text, TypeReference};
use crate::syntax::Span;

/// `decide NAME : TYPE [, for each G]`.
#[derive(Clone, Debug)]
pub struct Decide {
    /// The name.
    pub name: Name,
    /// The type.
    pub type_reference: TypeReference,
    /// The group it is decided for.
    pub for_each: Option<ForEach>,
    /// `shown in …`.
    pub shown_in: Option<ShownIn>,
    /// `about "…"`.
    pub about: Option<Text>,
    /// Where it comes from.
    pub source: Option<Source>,
    /// `only when C`.
    pub only_when: Option<Expression>,
    /// How it is decided.
    pub body: DecideBody,
    /// What is done to the value afterwards, in the order written.
    pub steps: Vec<Step>,
    /// `never falls …`, `never rises …`.
    pub promises: Vec<Promise>,
}

/// How a decision comes about.
#[derive(Clone, Debug)]
pub enum DecideBody {
    /// `by C1 and C2` with rows.
    Table(Table),
    /// `gives E`.
    Gives(Gives),
    /// `kept gives`, `first gives`, `next …`, `last gives`.
    Progression(Box<Progression>),
}

/// `gives E because "…"`.
#[derive(Clone, Debug)]
pub struct Gives {
    /// The value.
    pub value: Expression,
    /// Why.
    pub because: Option<Text>,
    /// Where it stands.
    pub span: Span,
}

/// A decision table.
#[derive(Clone, Debug)]
pub struct Table {
    /// From `by` to the last row.
    pub span: Span,
    /// What the rows look at.
    pub columns: Vec<Column>,
    /// The hit policy.
    pub hit_policy: HitPolicy,
    /// `, if unknown gives X`, `, if unknown keeps`.
    pub if_unknown: Option<RowResult>,
    /// The rows in order.
    pub rows: Vec<Row>,
}

/// The hit policy of a table (OMG DMN's words).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HitPolicy {
    /// At most one row matches.
    Unique,
    /// The first row that matches decides.
    First,
}

/// A column: a name or an expression in parentheses.
#[derive(Clone, Debug)]
pub struct Column {
    /// What it looks at.
    pub value: Expression,
}

/// One row.
#[derive(Clone, Debug)]
pub struct Row {
    /// The whole row.
    pub span: Span,
    /// What it asks of each column.
    pub conditions: RowConditions,
    /// What it gives.
    pub result: RowResult,
    /// Why.
    pub because: Option<Text>,
}

/// What a row asks.
#[derive(Clone, Debug)]
pub enum RowConditions {
    /// `otherwise`
    Otherwise,
    /// One condition a column.
    Each(Vec<Condition>),
}

/// What a row asks of one column.
#[derive(Clone, Debug)]
pub struct Condition {
    /// Where it stands.
    pub span: Span,
    /// What it asks.
    pub kind: ConditionKind,
}

/// The forms of a condition.
#[derive(Clone, Debug)]
pub enum ConditionKind {
    /// `any`
    Any,
    /// `a or b`, one value, `unknown`; all that is listed.
    OneOf(Vec<ListedValue>),
    /// `not a or b`: every value but these.
    NotOneOf(Vec<ListedValue>),
    /// `under V`
    Under(Literal),
    /// `up to V`
    UpTo(Literal),
    /// `over V`
    Over(Literal),
    /// `V or more`
    OrMore(Literal),
    /// `V through W`
    Through(Literal, Literal),
    /// `V to under W`
    ToUnder(Literal, Literal),
    /// `over V through W`
    OverThrough(Literal, Literal),
    /// `over V to under W`
    OverToUnder(Literal, Literal),
    /// A form that is almost right; the parser reports it with the right form.
    NearMiss,
}

/// One of the values listed in a condition.
#[derive(Clone, Debug)]
pub enum ListedValue {
    /// A value, or `none`.
    Value(Literal),
    /// `unknown`
    Unknown(Span),
}

/// What a row does.
#[derive(Clone, Debug)]
pub struct RowResult {
    /// Where it stands.
    pub span: Span,
    /// What it does.
    pub kind: RowResultKind,
}

/// The forms of a result.
#[derive(Clone, Debug)]
pub enum RowResultKind {
    /// `gives E`
    Gives(Expression),
    /// `moves up 1/2`, in half steps.
    Moves {
        /// Up or down.
        direction: Direction,
        /// Half steps.
        half_steps: i32,
    },
    /// `keeps`
    Keeps,
    /// `adds E`
    Adds(Expression),
    /// `takes off E`
    TakesOff(Expression),
    /// `cannot happen`
    CannotHappen,
}

/// Up or down a scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Toward the last step.
    Up,
    /// Toward the first step.
    Down,
}

/// What happens to the value after the first table or expression.
#[derive(Clone, Debug)]
pub enum Step {
    /// `then by …` with rows.
    Table(Table),
    /// `then kept within …`, `then rounded to …`.
    Post(Post, Span),
}

/// A value along a group.
#[derive(Clone, Debug)]
pub struct Progression {
    /// `kept gives E`: for clubs the player keeps.
    pub kept: Option<Gives>,
    /// `first gives E`.
    pub first: Gives,
    /// `next gives E` or `next by …`.
    pub next: Option<NextStep>,
    /// `last gives E`.
    pub last: Option<Gives>,
}

/// What every later club takes.
#[derive(Clone, Debug)]
pub enum NextStep {
    /// `next gives E`
    Gives(Gives),
    /// `next by …` with rows.
    Table(Table),
}

/// `[tested] never falls as X rises`, `never rises along the bag`.
#[derive(Clone, Debug)]
pub struct Promise {
    /// Where it stands.
    pub span: Span,
    /// Whether `tested` stands before it.
    pub tested: bool,
    /// Whether it never falls (or never rises).
    pub never_falls: bool,
    /// Against what.
    pub against: PromiseAgainst,
}

/// What a promise speaks of.
#[derive(Clone, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "a tree is read once and walked; a box would cost more words than it saves bytes"
)]
pub enum PromiseAgainst {
    /// `along the bag`
    AlongTheBag,
    /// `as X rises` or `as X falls`.
    As {
        /// The column or reading.
        what: Expression,
        /// Whether it rises.
        rises: bool,
    },
}
