//! Typed expressions.

use super::{
    CandidateValue, ChooseId, DecisionId, GroupId, InputId, LetId, ModelId, PartId, Program, Type,
    Value,
};
use crate::quantity::Rounding;
use crate::syntax::Span;
use crate::syntax::tree::{Extreme, Relation};

/// A typed expression.
#[derive(Clone, Debug)]
pub struct Expression {
    /// What it is.
    pub kind: ExpressionKind,
    /// The type of its value.
    pub value_type: Type,
    /// Where it stands.
    pub span: Span,
}

impl Expression {
    /// The value of an expression that depends on nothing: a constant, or numbers computed from
    /// constants.
    pub fn constant(&self, program: &Program) -> Option<Value> {
        match &self.kind {
            ExpressionKind::Constant(value) => Some(value.clone()),
            ExpressionKind::Let(id, _) => program.lets[*id].constant.clone(),
            ExpressionKind::Negative(inner) => {
                Some(Value::Number(inner.constant(program)?.number()?.negated()))
            }
            ExpressionKind::Arithmetic(operator, left, right) => {
                let (left, right) = (
                    left.constant(program)?.number()?,
                    right.constant(program)?.number()?,
                );
                let answer = match operator {
                    Arithmetic::Plus => left.plus(right),
                    Arithmetic::Minus => left.minus(right),
                    Arithmetic::Times => left.times(right),
                    Arithmetic::Over => left.over(right),
                };
                answer.ok().map(Value::Number)
            }
            _ => None,
        }
    }
}

/// Which member of a group a value is taken of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Member {
    /// The declaration is not for each of a group.
    Only,
    /// The same club as the one at hand. Where that club is not in the declaration's group, the
    /// value is `none`.
    Same,
    /// The first of the declaration's group in its own order; `none` where the group is empty.
    First,
    /// The last of the declaration's group in its own order; `none` where the group is empty.
    Last,
    /// The club before the one at hand, in the order along the bag; `none` for the first.
    Previous,
    /// The club after the one at hand, in the order along the bag; `none` for the last.
    Next,
}

/// The two operands' arithmetic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Arithmetic {
    /// Sum.
    Plus,
    /// Difference.
    Minus,
    /// Product.
    Times,
    /// Quotient.
    Over,
}

/// The forms of a typed expression.
#[derive(Clone, Debug)]
pub enum ExpressionKind {
    /// A constant.
    Constant(Value),
    /// `none`.
    None,
    /// A reading.
    Input(InputId),
    /// A let.
    Let(LetId, Member),
    /// A decision.
    Decision(DecisionId, Member),
    /// A field of a club.
    Field {
        /// The group that has the field.
        group: GroupId,
        /// The field's index.
        field: usize,
        /// Which club.
        member: Member,
    },
    /// A field, let or setting of the part that was chosen.
    Chosen {
        /// The choice.
        choose: ChooseId,
        /// What of it.
        value: CandidateValue,
        /// Which club's.
        member: Member,
    },
    /// A field, let or setting of the candidate at hand.
    Candidate(CandidateValue),
    /// `previous`: the value of the club before, along the bag.
    PreviousValue,
    /// `-x`.
    Negative(Box<Expression>),
    /// Arithmetic.
    Arithmetic(Arithmetic, Box<Expression>, Box<Expression>),
    /// `not x`.
    Not(Box<Expression>),
    /// `a and b`: no where either is no, whatever the other.
    And(Box<Expression>, Box<Expression>),
    /// `a or b`: yes where either is yes, whatever the other.
    Or(Box<Expression>, Box<Expression>),
    /// Equality.
    Is {
        /// Whether it is negated.
        negated: bool,
        /// One.
        left: Box<Expression>,
        /// The other.
        right: Box<Expression>,
    },
    /// `is none`, `is not none`.
    IsNone {
        /// Whether it is negated.
        negated: bool,
        /// The value.
        value: Box<Expression>,
    },
    /// `is known`.
    IsKnown {
        /// Whether it is negated.
        negated: bool,
        /// The value.
        value: Box<Expression>,
    },
    /// `is one of`.
    IsOneOf {
        /// Whether it is negated.
        negated: bool,
        /// The value.
        value: Box<Expression>,
        /// The values.
        values: Vec<Value>,
    },
    /// `X includes Y`: whether an element of the list X equals Y.
    Includes {
        /// The list.
        list: Box<Expression>,
        /// What it should have.
        value: Box<Expression>,
    },
    /// `within T of X`: |subject − X| ≤ T.
    Within {
        /// The subject.
        subject: Box<Expression>,
        /// The tolerance.
        tolerance: Box<Expression>,
        /// The centre.
        of: Box<Expression>,
    },
    /// An order.
    Order {
        /// Which.
        relation: Relation,
        /// The subject.
        left: Box<Expression>,
        /// The bound.
        right: Box<Expression>,
    },
    /// `if C then A otherwise B`; only the branch taken is evaluated.
    If {
        /// The condition.
        condition: Box<Expression>,
        /// Where it holds.
        then: Box<Expression>,
        /// Where it does not.
        otherwise: Box<Expression>,
    },
    /// `the larger of A and B`.
    Extreme(Extreme, Box<Expression>, Box<Expression>),
    /// `the size of x`.
    SizeOf(Box<Expression>),
    /// A model of the engine.
    Model(ModelId, Vec<Expression>),
    /// A scale's value moved by half steps, stopped at the ends.
    Moved(Box<Expression>, i32),
    /// An aggregate.
    Aggregate(Box<Aggregate>),
    /// `rounded to U`.
    Rounded {
        /// The value.
        value: Box<Expression>,
        /// The direction.
        rounding: Rounding,
        /// The unit.
        to: Box<Expression>,
    },
    /// `kept within A and B`.
    KeptWithin {
        /// The value.
        value: Box<Expression>,
        /// The lowest.
        low: Box<Expression>,
        /// The highest.
        high: Box<Expression>,
    },
    /// `or if unknown X`: X where the value is not decided; `none` stays `none`.
    OrIfUnknown {
        /// The value.
        value: Box<Expression>,
        /// What is taken instead.
        instead: Box<Expression>,
    },
}

/// What an aggregate runs over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// The members of a group; inside, the member is the club at hand.
    Group(GroupId),
    /// The parts on hand of a kind: pieces, and parts with a count above 0 (each counted as often
    /// as it is on hand); inside, the record is the candidate at hand.
    PartsOnHand(PartId),
}

/// A value taken over a group or the parts on hand.
#[derive(Clone, Debug)]
pub enum Aggregate {
    /// `number of … where …`; without a condition, how many there are.
    NumberOf(Over, Option<Expression>),
    /// `the largest X of G`; `none` where the group is empty. Members whose X does not apply are
    /// left out.
    ExtremeOf(Extreme, Over, Expression),
    /// `the total X of G`; zero where the group is empty. Members whose X does not apply are left
    /// out.
    TotalOf(Over, Expression),
    /// `any G where …`.
    AnyWhere(Over, Expression),
}
