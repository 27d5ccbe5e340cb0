//! Expressions.

use loftwright_dsl::quantity::{Rational, Rounding};
use loftwright_dsl::syntax::tree::{
    BinaryOperator, Direction, Expression, ExpressionKind, Literal, LiteralKind, Model, Position,
    Post, Test,
};

use super::operators::{Answer, all_known, arithmetic, extreme, fault, holds, logic, number, same};
use super::{Oracle, Outcome, Place, Scope, State, Value};

impl Oracle<'_> {
    /// What an expression comes to in a place.
    pub(super) fn evaluate(&self, expression: &Expression, scope: &Scope) -> Answer {
        Ok(match &expression.kind {
            ExpressionKind::Literal(literal) => {
                self.literal(&literal.kind, scope.expected.as_deref())
            }
            ExpressionKind::Reference(reference) => self.reference(reference, scope),
            ExpressionKind::Its(name) => {
                let candidate = scope.candidate.unwrap();
                if candidate.let_expression(&name.text).is_some() {
                    candidate.let_state(self, &name.text)
                } else {
                    candidate.field(self, &name.text)
                }
            }
            ExpressionKind::OfMember {
                name,
                position,
                group,
            } => self.of_member(&name.text, *position, &group.text, scope),
            ExpressionKind::Call { name, arguments } => {
                let model = &self.rules.models[&name.text];
                return self.call(model, arguments, scope);
            }
            ExpressionKind::Negative(inner) => {
                let inner = self.evaluate(inner, &scope.expecting(None))?;
                match all_known(&[inner]) {
                    Ok(values) => State::Known(Value::Number(number(&values[0]).negated())),
                    Err(state) => state,
                }
            }
            ExpressionKind::Not(inner) => {
                let inner = self.evaluate(inner, &scope.expecting(None))?;
                match inner.flag() {
                    Some(flag) => State::Known(Value::Flag(!flag)),
                    None => inner,
                }
            }
            ExpressionKind::Binary {
                operator,
                left,
                right,
            } => {
                let left = self.evaluate(left, &scope.expecting(None))?;
                let right = self.evaluate(right, &scope.expecting(None))?;
                if matches!(operator, BinaryOperator::And | BinaryOperator::Or) {
                    return Ok(logic(*operator, &left, &right));
                }
                match all_known(&[left, right]) {
                    Ok(values) => State::Known(arithmetic(*operator, &values[0], &values[1])?),
                    Err(state) => state,
                }
            }
            ExpressionKind::Compare { subject, test } => {
                return self.compare(subject, test, scope);
            }
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } => match self.evaluate(condition, &scope.expecting(None))? {
                State::Known(Value::Flag(true)) => self.evaluate(then, scope)?,
                State::Known(_) => self.evaluate(otherwise, scope)?,
                other => other,
            },
            ExpressionKind::Extreme {
                extreme: which,
                left,
                right,
            } => {
                let vocabulary = self.vocabulary_of(expression, scope);
                let inner = scope.expecting(vocabulary.or_else(|| scope.expected.clone()));
                let operands = [self.evaluate(left, &inner)?, self.evaluate(right, &inner)?];
                match all_known(&operands) {
                    Ok(values) => {
                        let [left, right] = values.try_into().unwrap();
                        State::Known(extreme(*which, left, right))
                    }
                    Err(state) => state,
                }
            }
            ExpressionKind::SizeOf(inner) => {
                match all_known(&[self.evaluate(inner, &scope.expecting(None))?]) {
                    Ok(values) => State::Known(Value::Number(number(&values[0]).size())),
                    Err(state) => state,
                }
            }
            ExpressionKind::Rate { amount, per, of } => {
                let of = self.evaluate(of, &scope.expecting(None))?;
                return self.rate(amount, per, of);
            }
            ExpressionKind::Aggregate(aggregate) => return self.aggregate(aggregate, scope),
            ExpressionKind::Moved {
                value,
                direction,
                half_steps,
            } => match all_known(&[self.evaluate(value, scope)?]) {
                Ok(values) => State::Known(self.moved(&values[0], *direction, *half_steps)),
                Err(state) => state,
            },
            ExpressionKind::Post { value, post } => {
                let vocabulary = self.vocabulary_of(value, scope);
                let inner = scope.expecting(vocabulary.or_else(|| scope.expected.clone()));
                let value = self.evaluate(value, &inner)?;
                return self.post(value, post, &inner);
            }
        })
    }

    fn rate(&self, amount: &Literal, per: &Literal, of: State) -> Answer {
        let amount = self.literal(&amount.kind, None);
        let per = self.literal(&per.kind, None);
        Ok(match all_known(&[amount, per, of]) {
            Ok(values) => {
                let each = number(&values[2]).over(number(&values[1])).map_err(fault)?;
                let result = number(&values[0]).times(each).map_err(fault)?;
                State::Known(Value::Number(result))
            }
            Err(state) => state,
        })
    }

    /// A word moved along its scale, stopped at the ends.
    pub(super) fn moved(&self, value: &Value, direction: Direction, half_steps: i32) -> Value {
        let Value::Word { vocabulary, place } = value else {
            panic!("{value} cannot be moved");
        };
        let steps = match direction {
            Direction::Up => half_steps,
            Direction::Down => -half_steps,
        };
        Value::Word {
            vocabulary: vocabulary.clone(),
            place: (place + steps).clamp(0, self.rules.vocabularies[vocabulary].highest()),
        }
    }

    /// What is done to a value after a comma.
    pub(super) fn post(&self, value: State, post: &Post, scope: &Scope) -> Answer {
        match post {
            Post::OrIfUnknown(other) => match value {
                State::Undecided(_) => self.evaluate(other, scope),
                settled => Ok(settled),
            },
            Post::Rounded { rounding, to } => {
                let to = self.evaluate(to, &scope.expecting(None))?;
                Ok(match all_known(&[value, to]) {
                    Ok(values) => State::Known(Value::Number(rounded(
                        number(&values[0]),
                        *rounding,
                        number(&values[1]),
                    )?)),
                    Err(state) => state,
                })
            }
            Post::KeptWithin { low, high } => {
                let operands = [
                    value,
                    self.evaluate(low, scope)?,
                    self.evaluate(high, scope)?,
                ];
                Ok(match all_known(&operands) {
                    Ok(values) => {
                        let [value, low, high] = values.try_into().unwrap();
                        State::Known(if number(&value) < number(&low) {
                            low
                        } else if number(&value) > number(&high) {
                            high
                        } else {
                            value
                        })
                    }
                    Err(state) => state,
                })
            }
        }
    }

    fn compare(&self, subject: &Expression, test: &Test, scope: &Scope) -> Answer {
        // Outside a `needs` or `prefers` line both sides read alike.
        let side = scope.as_subject();
        let vocabulary = self.vocabulary_of(subject, &side);
        let subject = self.evaluate(subject, &side)?;
        self.test(subject, vocabulary, test, &scope.as_ruleset())
    }

    /// Whether a test holds of a subject.
    pub(super) fn test(
        &self,
        subject: State,
        vocabulary: Option<String>,
        test: &Test,
        scope: &Scope,
    ) -> Answer {
        let scope = &scope.expecting(vocabulary.clone());
        let flag = |flag| Ok(State::Known(Value::Flag(flag)));
        match test {
            Test::IsKnown { negated } => flag(matches!(subject, State::Known(_)) != *negated),
            Test::Is { negated, value } if is_none_literal(value) => match subject {
                State::None => flag(!*negated),
                State::Known(_) => flag(*negated),
                undecided @ State::Undecided(_) => Ok(undecided),
            },
            Test::Is { negated, value } => {
                let value = self.evaluate(value, scope)?;
                two(subject, value, |left, right| same(left, right) != *negated)
            }
            Test::IsOneOf { negated, values } => {
                let mut operands = vec![subject];
                let words = values
                    .iter()
                    .map(|value| self.literal(&value.kind, vocabulary.as_deref()));
                operands.extend(words);
                match all_known(&operands) {
                    Ok(known) => {
                        let found = known[1..].iter().any(|value| same(value, &known[0]));
                        flag(found != *negated)
                    }
                    Err(state) => Ok(state),
                }
            }
            Test::Within { tolerance, of } => {
                let tolerance = self.evaluate(tolerance, &scope.expecting(None))?;
                let of = self.evaluate(of, scope)?;
                match all_known(&[subject, tolerance, of]) {
                    Ok(values) => {
                        let distance = number(&values[0]).minus(number(&values[2]));
                        let distance = distance.map_err(fault)?.size();
                        flag(distance <= number(&values[1]))
                    }
                    Err(state) => Ok(state),
                }
            }
            Test::Order { relation, bound } => {
                let bound = self.evaluate(bound, scope)?;
                two(subject, bound, |left, right| holds(*relation, left, right))
            }
            Test::Includes(_) => panic!("no ruleset of the tests asks whether a list includes"),
        }
    }

    fn call(&self, model: &Model, arguments: &[Expression], scope: &Scope) -> Answer {
        let mut states = Vec::new();
        for argument in arguments {
            states.push(self.evaluate(argument, &scope.expecting(None))?);
        }
        let values = match all_known(&states) {
            Ok(values) => values,
            Err(state) => return Ok(state),
        };
        let outside = || Outcome::OutsideRange(model.name.text.clone());
        for (value, argument) in values.iter().zip(&model.arguments) {
            let Some(range) = &argument.between else {
                continue;
            };
            let bound = |literal: &Literal| match self.literal(&literal.kind, None) {
                State::Known(value) => number(&value),
                other => panic!("a bound is {other:?}"),
            };
            if number(value) < bound(&range.low) || number(value) > bound(&range.high) {
                return Err(outside());
            }
        }
        let floats: Vec<f64> = values.iter().map(|value| number(value).to_f64()).collect();
        let answer = loftwright_engine::model::catalogue::call(&model.name.text, &floats);
        let answer = answer.unwrap().map_err(|_| outside())?;
        let resolution = match model
            .answers_to
            .as_ref()
            .map(|to| self.literal(&to.kind, None))
        {
            Some(State::Known(value)) => number(&value),
            other => panic!("a model answers to {other:?}"),
        };
        let exact = Rational::from_f64(answer, resolution).ok_or_else(outside)?;
        Ok(State::Known(Value::Number(exact)))
    }

    /// `X of the first G`.
    fn of_member(&self, name: &str, position: Position, group: &str, scope: &Scope) -> State {
        let step = match position {
            Position::Next => 1,
            Position::Previous => -1,
            Position::First | Position::Last => {
                let members = match self.group(group) {
                    Ok(members) => members,
                    Err(_) => return self.group_state(group),
                };
                let count = members.list.len();
                let member = if position == Position::First {
                    0
                } else {
                    count.wrapping_sub(1)
                };
                if count == 0 {
                    return State::None;
                }
                return self.of_club(name, (group.to_owned(), member));
            }
        };
        match self.neighbour(scope, step) {
            Some(neighbour) => {
                let club = neighbour.club.unwrap();
                match self.same_club(&club, group) {
                    Ok(Some(member)) => self.of_club(name, (group.to_owned(), member)),
                    Ok(None) => State::None,
                    Err(undecided) => State::Undecided(undecided),
                }
            }
            None => State::None,
        }
    }

    fn of_club(&self, name: &str, club: (String, usize)) -> State {
        if self.rules.group_field(&club.0, name).is_some() {
            return self.club_field(&club.0, club.1, name);
        }
        let scope = Scope {
            club: Some(club),
            ..Scope::default()
        };
        self.declared(name, &scope)
    }

    /// The scope of the club before or after the one at hand, in the order of the declaration.
    pub(super) fn neighbour<'c>(&self, scope: &Scope<'c>, step: isize) -> Option<Scope<'c>> {
        let (line, position) = scope.line.as_ref()?;
        let position = position.checked_add_signed(step)?;
        let member = *line.get(position)?;
        let (group, _) = scope.club.as_ref()?;
        Some(Scope {
            club: Some((group.clone(), member)),
            line: Some((line.clone(), position)),
            ..scope.clone()
        })
    }

    /// A bare `previous`: the declaration's own value for the club before this one.
    pub(super) fn previous_value(&self, scope: &Scope) -> State {
        let owner = scope.owner.clone().unwrap();
        match self.neighbour(scope, -1) {
            Some(Scope {
                club: Some((_, member)),
                ..
            }) => self.state(&Place {
                name: owner,
                member: Some(member),
            }),
            _ => State::None,
        }
    }

    /// The choice whose field is asked for, of the same club.
    pub(super) fn field_of_choice(
        &self,
        choose: &loftwright_dsl::syntax::tree::Choose,
        field: &str,
        scope: &Scope,
    ) -> State {
        let state = self.declared(&choose.name.text, scope);
        if !matches!(state, State::Known(_)) {
            return state;
        }
        let member = match (&choose.for_each, &scope.club) {
            (Some(each), Some(club)) => self.same_club(club, &each.group.text).unwrap(),
            _ => None,
        };
        self.picked_field(choose, member, field)
    }
}

fn is_none_literal(expression: &Expression) -> bool {
    matches!(
        &expression.kind,
        ExpressionKind::Literal(Literal {
            kind: LiteralKind::None,
            ..
        })
    )
}

fn two(left: State, right: State, test: impl Fn(&Value, &Value) -> bool) -> Answer {
    Ok(match all_known(&[left, right]) {
        Ok(values) => State::Known(Value::Flag(test(&values[0], &values[1]))),
        Err(state) => state,
    })
}

/// Rounding from its definition: to nearest, halves away from zero.
fn rounded(value: Rational, rounding: Rounding, unit: Rational) -> Result<Rational, Outcome> {
    let multiples = value.over(unit.size()).map_err(fault)?;
    let (above, below) = (multiples.numerator(), multiples.denominator());
    let down = above.div_euclid(below);
    let exact = above.rem_euclid(below) == 0;
    let up = if exact { down } else { down + 1 };
    let twice_rest = 2 * above.rem_euclid(below);
    let whole = match rounding {
        Rounding::Down => down,
        Rounding::Up => up,
        Rounding::Nearest if twice_rest > below => up,
        Rounding::Nearest if twice_rest < below => down,
        Rounding::Nearest if above < 0 => down,
        Rounding::Nearest => up,
    };
    let whole = Rational::fraction(whole, 1).map_err(fault)?;
    whole.times(unit.size()).map_err(fault)
}
