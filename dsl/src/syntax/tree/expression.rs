//! Expressions: arithmetic and conditions in one grammar; types tell them apart.

use super::{Direction, Name};
use crate::quantity::{ParsedLiteral, Rational, Rounding};
use crate::syntax::Span;

/// A literal or the name of a value.
#[derive(Clone, Debug)]
pub struct Literal {
    /// Where it stands.
    pub span: Span,
    /// What it says.
    pub kind: LiteralKind,
}

/// What a literal says.
#[derive(Clone, Debug)]
pub enum LiteralKind {
    /// A number, quantity, temperature, swingweight or date.
    Exact(ParsedLiteral),
    /// `yes` or `no`.
    Flag(bool),
    /// `none`: does not apply.
    None,
    /// The name of a value or of a constant let, with `plus 1/2` where a half step follows.
    Named {
        /// The name.
        name: Name,
        /// Steps added, in half steps: 1 for `plus 1/2`.
        plus_half_steps: i32,
    },
}

/// An expression.
#[derive(Clone, Debug)]
pub struct Expression {
    /// Where it stands.
    pub span: Span,
    /// What it is.
    pub kind: ExpressionKind,
}

/// The forms of an expression.
#[derive(Clone, Debug)]
pub enum ExpressionKind {
    /// A literal other than a name.
    Literal(Literal),
    /// `name`, `name.field`, `name plus 1/2`, `previous`, `previous wood.length`.
    Reference(Reference),
    /// `its field`.
    Its(Name),
    /// `wedge_flex of the last iron`.
    OfMember {
        /// The decision, let or field.
        name: Name,
        /// Which member.
        position: Position,
        /// The group.
        group: Name,
    },
    /// `model(argument, …)`.
    Call {
        /// The model.
        name: Name,
        /// Its arguments in order.
        arguments: Vec<Expression>,
    },
    /// `-x`.
    Negative(Box<Expression>),
    /// `not x`.
    Not(Box<Expression>),
    /// Two operands of arithmetic or of `and`, `or`.
    Binary {
        /// What joins them.
        operator: BinaryOperator,
        /// The left operand.
        left: Box<Expression>,
        /// The right operand.
        right: Box<Expression>,
    },
    /// A condition on a subject.
    Compare {
        /// What is compared: the candidate's side of a `needs` line.
        subject: Box<Expression>,
        /// What must hold of it.
        test: Test,
    },
    /// `if C then A otherwise B`.
    If {
        /// The condition.
        condition: Box<Expression>,
        /// Where it holds.
        then: Box<Expression>,
        /// Where it does not.
        otherwise: Box<Expression>,
    },
    /// `the larger of A and B`, `the smaller of A and B`.
    Extreme {
        /// Larger or smaller.
        extreme: Extreme,
        /// One.
        left: Box<Expression>,
        /// The other.
        right: Box<Expression>,
    },
    /// `the size of x`.
    SizeOf(Box<Expression>),
    /// `10 g for each 1 in of x`.
    Rate {
        /// How much.
        amount: Literal,
        /// For each of this.
        per: Literal,
        /// Of this.
        of: Box<Expression>,
    },
    /// `number of …`, `the total … of …`, `any … where …`.
    Aggregate(Aggregate),
    /// `x moved up 1/2`.
    Moved {
        /// The value.
        value: Box<Expression>,
        /// Up or down.
        direction: Direction,
        /// Half steps.
        half_steps: i32,
    },
    /// `x, rounded to U`, `x, kept within A and B`, `x, or if unknown Y`.
    Post {
        /// The value.
        value: Box<Expression>,
        /// What is done to it.
        post: Box<Post>,
    },
}

/// A name, perhaps qualified: `wedge_loft`, `iron.loft`, `previous wood.length`, `setting.tilt`.
#[derive(Clone, Debug)]
pub struct Reference {
    /// Whether `previous` stands before it.
    pub previous: bool,
    /// The name; absent for `previous` alone.
    pub name: Option<Name>,
    /// The field after the dot.
    pub field: Option<Name>,
    /// Steps added with `plus`, in half steps.
    pub plus_half_steps: i32,
}

/// Which member of a group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Position {
    /// The first in the group's own order.
    First,
    /// The last in the group's own order.
    Last,
    /// The one after the member at hand.
    Next,
    /// The one before the member at hand.
    Previous,
}

/// What joins two operands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BinaryOperator {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`
    Over,
    /// `and`
    And,
    /// `or`
    Or,
}

/// Larger or smaller.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Extreme {
    /// `the larger of`, `the largest`.
    Larger,
    /// `the smaller of`, `the smallest`.
    Smaller,
}

/// What must hold of a subject.
#[derive(Clone, Debug)]
pub enum Test {
    /// `is X`, `is not X`.
    Is {
        /// Whether `not` stands before it.
        negated: bool,
        /// What it is compared with.
        value: Box<Expression>,
    },
    /// `is known`, `is not known`.
    IsKnown {
        /// Whether `not` stands before it.
        negated: bool,
    },
    /// `is one of a, b`, `is not one of a, b`.
    IsOneOf {
        /// Whether `not` stands before it.
        negated: bool,
        /// The values.
        values: Vec<Literal>,
    },
    /// `within T of X`.
    Within {
        /// The tolerance.
        tolerance: Box<Expression>,
        /// The centre.
        of: Box<Expression>,
    },
    /// `under`, `over`, `at most`, `at least` something.
    Order {
        /// Which.
        relation: Relation,
        /// The bound.
        bound: Box<Expression>,
    },
    /// `includes X`: a list field holds the value.
    Includes(Box<Expression>),
}

/// An order between two quantities.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Relation {
    /// `under`
    Under,
    /// `over`
    Over,
    /// `at most`
    AtMost,
    /// `at least`
    AtLeast,
}

/// A value taken over a group or the parts of a catalogue.
#[derive(Clone, Debug)]
pub enum Aggregate {
    /// `number of clubs [where …]`, `number of heads where …`.
    NumberOf {
        /// The group or the plural of a part.
        over: Name,
        /// Which of them.
        condition: Option<Box<Expression>>,
    },
    /// `the largest X of G`, `the smallest X of G`.
    ExtremeOf {
        /// Largest or smallest.
        extreme: Extreme,
        /// The value of each member.
        value: Reference,
        /// The group.
        over: Name,
    },
    /// `the total X of G`.
    TotalOf {
        /// The value of each member.
        value: Reference,
        /// The group.
        over: Name,
    },
    /// `any G where …`.
    AnyWhere {
        /// The group or the plural of a part.
        over: Name,
        /// The condition.
        condition: Box<Expression>,
    },
}

/// What is done to a value after a comma.
#[derive(Clone, Debug)]
#[expect(
    clippy::large_enum_variant,
    reason = "a tree is read once and walked; a box would cost more words than it saves bytes"
)]
pub enum Post {
    /// `rounded to U`, `rounded up to U`, `rounded down to U`.
    Rounded {
        /// Nearest, up or down.
        rounding: Rounding,
        /// The unit of rounding.
        to: Expression,
    },
    /// `kept within A and B`.
    KeptWithin {
        /// The lowest.
        low: Expression,
        /// The highest.
        high: Expression,
    },
    /// `or if unknown X`.
    OrIfUnknown(Expression),
}

/// A whole or half number of steps, in half steps, or a plain number of a clause such as `weight
/// 4`.
#[derive(Clone, Debug)]
pub struct Number {
    /// The number.
    pub value: Rational,
    /// Where it stands.
    pub span: Span,
}
