//! How an expression moves with the readings of a range.
//!
//! What looks at nothing that moves is still, be it a model or an aggregate. Sums, differences and
//! products with something still keep a line a line. A comparison with a line asks for a cut where
//! it turns; between the cuts it is still. Whether a value is known never depends on how large a
//! reading is, only on conditions, so it is settled by the same cuts.

use loftwright_dsl::check::children;
use loftwright_dsl::program::{
    Aggregate, Arithmetic, Expression, ExpressionKind, GroupId, Member, Node, Over, Type, Value,
};
use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::Extreme;

use super::motion::{Line, Motion};
use super::nodes::Follower;
use crate::outcome::{Place, State};

/// What an expression is looked at for.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Here {
    /// The club at hand.
    pub(super) club: Option<(GroupId, usize)>,
    /// The place before it along the bag.
    pub(super) previous: Option<Place>,
}

impl Follower<'_> {
    /// How an expression moves.
    // Long because every form of an expression has its arm.
    pub(super) fn expression(&mut self, expression: &Expression, here: Here) -> Motion {
        match &expression.kind {
            ExpressionKind::Constant(_) | ExpressionKind::None | ExpressionKind::Candidate(_) => {
                Motion::Still
            }
            ExpressionKind::Input(id) => self.place(Node::Input(*id), None),
            ExpressionKind::Let(id, member) => self.named(Node::Let(*id), *member, here),
            ExpressionKind::Decision(id, member) => self.named(Node::Decision(*id), *member, here),
            ExpressionKind::Field { group, .. } => self.group(*group),
            ExpressionKind::Chosen { choose, member, .. } => {
                self.named(Node::Choose(*choose), *member, here)
            }
            ExpressionKind::PreviousValue => match here.previous {
                Some(Place { node, member }) => self.place(node, member),
                None => Motion::Still,
            },
            ExpressionKind::Negative(value) => match self.expression(value, here) {
                Motion::Line(line) => line.scaled(Rational::whole(-1), Rational::ZERO),
                other => other,
            },
            ExpressionKind::Arithmetic(operator, left, right) => {
                self.arithmetic(*operator, left, right, here)
            }
            ExpressionKind::Order { left, right, .. } | ExpressionKind::Is { left, right, .. } => {
                self.compared(left, right, here)
            }
            ExpressionKind::Within {
                subject,
                tolerance,
                of,
            } => self.within(subject, tolerance, of, here),
            ExpressionKind::IsOneOf { value, values, .. } => {
                let motion = self.expression(value, here);
                self.settled(motion, values.iter().filter_map(Value::number))
            }
            ExpressionKind::IsNone { value, .. } | ExpressionKind::IsKnown { value, .. } => {
                let motion = self.expression(value, here);
                self.settled(motion, [])
            }
            ExpressionKind::And(left, right) => self.either(left, right, false, here),
            ExpressionKind::Or(left, right) => self.either(left, right, true, here),
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } => match self.expression(condition, here) {
                Motion::Still => match self.state(condition, here) {
                    Some(State::Known(Value::Flag(true))) => self.expression(then, here),
                    Some(State::Known(_)) => self.expression(otherwise, here),
                    Some(_) => Motion::Still,
                    None => self.still_together([&**then, &**otherwise], here),
                },
                other => other,
            },
            ExpressionKind::OrIfUnknown { value, instead } => {
                match (self.expression(value, here), self.state(value, here)) {
                    (Motion::Still, Some(State::Undecided(_))) => self.expression(instead, here),
                    (Motion::Still, None) => self.still_together([&**instead], here),
                    (motion, _) => motion,
                }
            }
            ExpressionKind::Extreme(extreme, left, right) => {
                let (one, other) = (self.expression(left, here), self.expression(right, here));
                self.further(*extreme, (one, left), (other, right), here)
            }
            ExpressionKind::SizeOf(value) => match self.expression(value, here) {
                Motion::Line(line) => {
                    self.piece.cut_at(line, Rational::ZERO);
                    match self.piece.value_of(line) {
                        Some(value) if value.is_negative() => {
                            line.scaled(Rational::whole(-1), Rational::ZERO)
                        }
                        _ => Motion::Line(line),
                    }
                }
                other => other,
            },
            ExpressionKind::Rounded {
                value,
                rounding,
                to,
            } => {
                let motion = self.expression(value, here);
                self.rounded(motion, *rounding, to, here)
            }
            ExpressionKind::KeptWithin { value, low, high } => {
                let motion = self.expression(value, here);
                self.kept_within(motion, low, high, here)
            }
            ExpressionKind::Model(model, arguments) => {
                let motion = self.still_together(arguments, here);
                let name = &self.program.models[*model].name;
                motion.or_lost(|| format!("the model `{name}`"))
            }
            ExpressionKind::Includes { list, value } => self
                .still_together([&**list, &**value], here)
                .or_lost(|| "a condition with `includes`".to_owned()),
            ExpressionKind::Not(value) | ExpressionKind::Moved(value, _) => {
                self.expression(value, here)
            }
            ExpressionKind::Aggregate(aggregate) => self.aggregate(expression, aggregate, here),
        }
    }

    /// What an expression is for the readings at hand; `None` where that cannot be asked after the
    /// fact, since it looks at the club before.
    pub(super) fn state(&self, expression: &Expression, here: Here) -> Option<State> {
        if let (ExpressionKind::PreviousValue, Some(previous)) = (&expression.kind, here.previous) {
            return self.evaluation.state(previous);
        }
        if looks_beside(expression) {
            return None;
        }
        Some(self.evaluation.evaluate_at(
            self.program,
            self.parts,
            self.player,
            self.today,
            expression,
            here.club,
        ))
    }

    /// Still where every expression is, with the cuts that this takes.
    pub(super) fn still_together<'e>(
        &mut self,
        expressions: impl IntoIterator<Item = &'e Expression>,
        here: Here,
    ) -> Motion {
        let mut together = Motion::Still;
        for expression in expressions {
            let motion = self.expression(expression, here);
            if together == Motion::Still {
                together = motion.or_lost(|| "a value that moves with the range".to_owned());
            }
        }
        together
    }

    /// A condition on a value: still, once the value is cut at the bounds.
    pub(super) fn settled(
        &mut self,
        motion: Motion,
        bounds: impl IntoIterator<Item = Rational>,
    ) -> Motion {
        match motion {
            Motion::Line(line) => {
                for bound in bounds {
                    self.piece.cut_at(line, bound);
                }
                Motion::Still
            }
            other => other,
        }
    }

    fn arithmetic(
        &mut self,
        operator: Arithmetic,
        left: &Expression,
        right: &Expression,
        here: Here,
    ) -> Motion {
        let lines = match (self.expression(left, here), self.expression(right, here)) {
            (Motion::Lost(why), _) | (_, Motion::Lost(why)) => return Motion::Lost(why),
            (Motion::Still, Motion::Still) => return Motion::Still,
            lines => lines,
        };
        let minus_one = Rational::whole(-1);
        match (operator, lines) {
            (Arithmetic::Plus, (Motion::Line(one), Motion::Line(other))) => one.plus(other),
            (Arithmetic::Minus, (Motion::Line(one), Motion::Line(other))) => {
                match other.scaled(minus_one, Rational::ZERO) {
                    Motion::Line(other) => one.plus(other),
                    lost => lost,
                }
            }
            (_, (Motion::Line(line), _)) => {
                self.beside_a_number(right, here, |number| match operator {
                    Arithmetic::Plus => line.scaled(Rational::ONE, number),
                    Arithmetic::Minus => line.scaled(Rational::ONE, number.negated()),
                    Arithmetic::Times => line.scaled(number, Rational::ZERO),
                    Arithmetic::Over => Rational::ONE
                        .over(number)
                        .map_or(Motion::Still, |part| line.scaled(part, Rational::ZERO)),
                })
            }
            (_, (_, Motion::Line(line))) => {
                self.beside_a_number(left, here, |number| match operator {
                    Arithmetic::Plus => line.scaled(Rational::ONE, number),
                    Arithmetic::Minus => line.scaled(minus_one, number),
                    Arithmetic::Times => line.scaled(number, Rational::ZERO),
                    Arithmetic::Over => Motion::Lost("a division by a value that moves".to_owned()),
                })
            }
            _ => Motion::Still,
        }
    }

    /// Something made of a line and a number that stays; where the number is not known, neither is
    /// what is made of it.
    fn beside_a_number(
        &self,
        still: &Expression,
        here: Here,
        make: impl FnOnce(Rational) -> Motion,
    ) -> Motion {
        match self.state(still, here) {
            Some(State::Known(Value::Number(number))) => make(number),
            Some(_) => Motion::Still,
            None => Motion::Lost("a sum with the club before".to_owned()),
        }
    }

    fn compared(&mut self, left: &Expression, right: &Expression, here: Here) -> Motion {
        match self.arithmetic(Arithmetic::Minus, left, right, here) {
            Motion::Line(line) => self.settled(Motion::Line(line), [Rational::ZERO]),
            other => other,
        }
    }

    fn within(
        &mut self,
        subject: &Expression,
        tolerance: &Expression,
        of: &Expression,
        here: Here,
    ) -> Motion {
        let distance = self.arithmetic(Arithmetic::Minus, subject, of, here);
        let line = match (distance, self.expression(tolerance, here)) {
            (Motion::Lost(why), _) | (_, Motion::Lost(why)) => return Motion::Lost(why),
            (Motion::Still, Motion::Still) => return Motion::Still,
            (Motion::Line(line), Motion::Still) if subject.value_type != Type::Date => line,
            _ => return Motion::Lost("a tolerance that moves with the range".to_owned()),
        };
        match self.state(tolerance, here) {
            Some(State::Known(Value::Number(tolerance))) => {
                self.settled(Motion::Line(line), [tolerance, tolerance.negated()])
            }
            Some(_) => Motion::Still,
            None => Motion::Lost("a tolerance of the club before".to_owned()),
        }
    }

    /// `and`, `or`: settled by the left side where that comes to `settles`.
    fn either(
        &mut self,
        left: &Expression,
        right: &Expression,
        settles: bool,
        here: Here,
    ) -> Motion {
        match self.expression(left, here) {
            Motion::Still => {}
            other => return other,
        }
        match self.state(left, here) {
            Some(State::Known(Value::Flag(flag))) if flag == settles => Motion::Still,
            _ => self.expression(right, here),
        }
    }

    /// The larger or smaller of two values: cut where they meet.
    fn further(
        &mut self,
        extreme: Extreme,
        (one, left): (Motion, &Expression),
        (other, right): (Motion, &Expression),
        here: Here,
    ) -> Motion {
        if one == Motion::Still && other == Motion::Still {
            return Motion::Still;
        }
        if let lost @ Motion::Lost(_) = self.compared(left, right, here) {
            return lost;
        }
        let (Some(State::Known(left)), Some(State::Known(right))) =
            (self.state(left, here), self.state(right, here))
        else {
            return Motion::Still;
        };
        if (left > right) == (extreme == Extreme::Larger) {
            one
        } else {
            other
        }
    }

    /// Stopped at two ends that stay.
    pub(super) fn kept_within(
        &mut self,
        motion: Motion,
        low: &Expression,
        high: &Expression,
        here: Here,
    ) -> Motion {
        let line = match (motion, self.still_together([low, high], here)) {
            (lost @ Motion::Lost(_), _) | (_, lost @ Motion::Lost(_)) => return lost,
            (Motion::Line(line), Motion::Still) => line,
            _ => return Motion::Still,
        };
        match (self.number(low, here), self.number(high, here)) {
            (Some(low), Some(high)) => {
                self.settled(Motion::Line(line), [low, high]);
                match self.piece.value_of(line) {
                    Some(value) if value > low && value < high => Motion::Line(line),
                    _ => Motion::Still,
                }
            }
            _ => Motion::Still,
        }
    }

    /// Rounded to a unit that stays.
    pub(super) fn rounded(
        &mut self,
        motion: Motion,
        rounding: loftwright_dsl::quantity::Rounding,
        to: &Expression,
        here: Here,
    ) -> Motion {
        match (motion, self.still_together([to], here)) {
            (lost @ Motion::Lost(_), _) | (_, lost @ Motion::Lost(_)) => lost,
            (Motion::Line(line), Motion::Still) => match self.number(to, here) {
                Some(unit) => self.piece.cut_where_rounded(line, rounding, unit),
                None => Motion::Still,
            },
            _ => Motion::Still,
        }
    }

    fn number(&self, expression: &Expression, here: Here) -> Option<Rational> {
        match self.state(expression, here)? {
            State::Known(value) => value.number(),
            _ => None,
        }
    }

    fn aggregate(&mut self, expression: &Expression, aggregate: &Aggregate, here: Here) -> Motion {
        let over = match aggregate {
            Aggregate::NumberOf(over, _)
            | Aggregate::ExtremeOf(_, over, _)
            | Aggregate::TotalOf(over, _)
            | Aggregate::AnyWhere(over, _) => *over,
        };
        let Over::Group(group) = over else {
            return self.still_together(children(expression), here);
        };
        let made = self.group(group);
        if made != Motion::Still {
            return made;
        }
        let size = self.evaluation.members(group).map_or(0, <[_]>::len);
        for member in 0..size {
            let inside = Here {
                club: Some((group, member)),
                ..here
            };
            let motion = self.still_together(children(expression), inside);
            if motion != Motion::Still {
                return motion.or_lost(|| "a value taken over the clubs".to_owned());
            }
        }
        Motion::Still
    }

    /// A let, decision or choice, of the club that is meant.
    fn named(&mut self, node: Node, member: Member, here: Here) -> Motion {
        let Some(group) = self.program.group_of(node) else {
            return self.place(node, None);
        };
        let made = self.group(group);
        if made != Motion::Still {
            return made;
        }
        let Some(size) = self.evaluation.members(group).map(<[_]>::len) else {
            return self.place(node, None);
        };
        let same = || {
            let (from, place) = here.club?;
            self.evaluation.same_club(from, place, group)
        };
        let found = match member {
            Member::First => (size > 0).then_some(0),
            Member::Last => size.checked_sub(1),
            Member::Same | Member::Only => same(),
            Member::Previous | Member::Next => {
                // Which neighbour is meant, the order along the bag says; all of them will do.
                for member in 0..size {
                    let motion = self.place(node, Some(member));
                    if motion != Motion::Still {
                        return motion.or_lost(|| "the club beside".to_owned());
                    }
                }
                return Motion::Still;
            }
        };
        match found {
            Some(member) => self.place(node, Some(member)),
            None => Motion::Still,
        }
    }
}

impl Motion {
    /// The motion, or lost where it is a line.
    pub(super) fn or_lost(self, why: impl FnOnce() -> String) -> Motion {
        match self {
            Motion::Line(Line { .. }) => Motion::Lost(why()),
            other => other,
        }
    }
}

/// Whether an expression looks at the club before or after, which is not to be asked after the
/// fact.
fn looks_beside(expression: &Expression) -> bool {
    let beside = |member: Member| matches!(member, Member::Previous | Member::Next);
    match &expression.kind {
        ExpressionKind::PreviousValue => true,
        ExpressionKind::Let(_, member)
        | ExpressionKind::Decision(_, member)
        | ExpressionKind::Field { member, .. }
        | ExpressionKind::Chosen { member, .. } => beside(*member),
        _ => children(expression).into_iter().any(looks_beside),
    }
}
