//! What expressions come to for a player who is tried as a witness.
//!
//! Only what readings alone decide is looked at: no clubs, parts or models. Nothing is ever decided
//! here: a witness is a proposal, and a check above the engine runs it.

use std::cell::RefCell;
use std::collections::BTreeMap;

use crate::program::{
    Arithmetic, Body, Condition, Decision, Expression, ExpressionKind, InputId, Member, Node,
    Program, RowResult, Step, Table, Type, Value,
};
use crate::quantity::Rational;
use crate::syntax::tree::{Extreme, HitPolicy, Relation};

/// Lets and decisions behind each other: beyond this many nothing is guessed.
const MOST_NODES_DEEP: usize = 64;

/// A value as a player shows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Seen {
    Known(Value),
    None,
    Unknown,
}

/// A player who is tried: a reading that is not in the list is not given.
pub(super) struct Guess<'p> {
    program: &'p Program,
    readings: &'p BTreeMap<InputId, Value>,
    known: RefCell<BTreeMap<Node, Option<Seen>>>,
    depth: RefCell<usize>,
}

impl<'p> Guess<'p> {
    pub(super) fn new(program: &'p Program, readings: &'p BTreeMap<InputId, Value>) -> Self {
        Guess {
            program,
            readings,
            known: RefCell::default(),
            depth: RefCell::default(),
        }
    }

    /// What an expression comes to; `None` where readings alone do not say.
    pub(super) fn see(&self, expression: &Expression) -> Option<Seen> {
        match &expression.kind {
            ExpressionKind::Constant(value) => Some(Seen::Known(value.clone())),
            ExpressionKind::None => Some(Seen::None),
            ExpressionKind::Input(id) => self.node(Node::Input(*id)),
            ExpressionKind::Let(id, Member::Only) => self.node(Node::Let(*id)),
            ExpressionKind::Decision(id, Member::Only) => self.node(Node::Decision(*id)),
            ExpressionKind::Not(value) => {
                self.one(value, |value| value.flag().map(|flag| Value::Flag(!flag)))
            }
            ExpressionKind::And(left, right) => self.and_or(false, left, right),
            ExpressionKind::Or(left, right) => self.and_or(true, left, right),
            ExpressionKind::IsNone { negated, value } => Some(match self.see(value)? {
                Seen::Unknown => Seen::Unknown,
                seen => flag((seen == Seen::None) != *negated),
            }),
            ExpressionKind::IsKnown { negated, value } => {
                let is_known = matches!(self.see(value)?, Seen::Known(_));
                Some(flag(is_known != *negated))
            }
            ExpressionKind::If {
                condition,
                then,
                otherwise,
            } => match self.see(condition)? {
                Seen::Known(Value::Flag(true)) => self.see(then),
                Seen::Known(_) => self.see(otherwise),
                open => Some(open),
            },
            ExpressionKind::OrIfUnknown { value, instead } => match self.see(value)? {
                Seen::Unknown => self.see(instead),
                seen => Some(seen),
            },
            _ => self.computed(expression),
        }
    }

    fn computed(&self, expression: &Expression) -> Option<Seen> {
        match &expression.kind {
            ExpressionKind::Negative(value) => self.one(value, |value| {
                Some(Value::Number(value.number()?.negated()))
            }),
            ExpressionKind::SizeOf(value) => {
                self.one(value, |value| Some(Value::Number(value.number()?.size())))
            }
            ExpressionKind::IsOneOf {
                negated,
                value,
                values,
            } => self.one(value, |value| {
                Some(Value::Flag(values.contains(&value) != *negated))
            }),
            ExpressionKind::Moved(value, half_steps) => self.one(value, |moved| {
                self.moved(value.value_type, &moved, *half_steps)
            }),
            ExpressionKind::Arithmetic(operator, left, right) => {
                self.both(left, right, |left, right| {
                    arithmetic(*operator, &left, &right)
                })
            }
            ExpressionKind::Is {
                negated,
                left,
                right,
            } => self.both(left, right, |left, right| {
                Some(Value::Flag((left == right) != *negated))
            }),
            ExpressionKind::Order {
                relation,
                left,
                right,
            } => self.both(left, right, |left, right| {
                Some(Value::Flag(stands_in(*relation, &left, &right)))
            }),
            ExpressionKind::Extreme(extreme, left, right) => {
                self.both(left, right, |left, right| {
                    Some(match extreme {
                        Extreme::Larger => left.max(right),
                        Extreme::Smaller => left.min(right),
                    })
                })
            }
            ExpressionKind::Rounded {
                value,
                rounding,
                to,
            } => self.both(value, to, |value, to| {
                let rounded = value.number()?.rounded_to(to.number()?, *rounding);
                Some(Value::Number(rounded.ok()?))
            }),
            ExpressionKind::KeptWithin { value, low, high } => Some(kept_within(
                self.see(value)?,
                self.see(low)?,
                self.see(high)?,
            )),
            // Clubs, parts and models are not there; a distance depends on types.
            _ => None,
        }
    }

    fn node(&self, node: Node) -> Option<Seen> {
        if let Some(known) = self.known.borrow().get(&node) {
            return known.clone();
        }
        if *self.depth.borrow() == MOST_NODES_DEEP {
            return None;
        }
        *self.depth.borrow_mut() += 1;
        let seen = match node {
            Node::Input(id) => self.input(id),
            Node::Let(id) => self.see(&self.program.lets[id].value),
            Node::Decision(id) => self.decision(&self.program.decisions[id]),
            _ => None,
        };
        *self.depth.borrow_mut() -= 1;
        self.known.borrow_mut().insert(node, seen.clone());
        seen
    }

    fn input(&self, id: InputId) -> Option<Seen> {
        let input = &self.program.inputs[id];
        if let Some(only_when) = &input.only_when {
            match self.see(only_when)? {
                Seen::Known(Value::Flag(true)) => {}
                Seen::Unknown => return Some(Seen::Unknown),
                _ => return Some(Seen::None),
            }
        }
        let given = self.readings.get(&id).or(input.default.as_ref());
        Some(given.map_or(Seen::Unknown, |value| Seen::Known(value.clone())))
    }

    fn decision(&self, decision: &Decision) -> Option<Seen> {
        if decision.for_each.is_some() {
            return None;
        }
        if let Some(only_when) = &decision.only_when {
            match self.see(only_when)? {
                Seen::Known(Value::Flag(true)) => {}
                Seen::Unknown => return Some(Seen::Unknown),
                _ => return Some(Seen::None),
            }
        }
        let mut value = match &decision.body {
            Body::Table(table) => self.result(self.row_of(table)?)?,
            Body::Gives(gives) => self.see(&gives.value)?,
            Body::Progression(_) => return None,
        };
        let mut moves: i32 = 0;
        for step in &decision.steps {
            match step {
                Step::Table(table) => match self.row_of(table)? {
                    RowResult::Moves(half_steps) => moves = moves.checked_add(*half_steps)?,
                    RowResult::Keeps => {}
                    gives @ RowResult::Gives(_) => value = self.result(gives)?,
                    _ => return None,
                },
                Step::OrIfUnknown { instead, .. } if value == Seen::Unknown => {
                    value = self.see(instead)?;
                }
                Step::OrIfUnknown { .. } => {}
                Step::KeptWithin { low, high, .. } => {
                    value = kept_within(value, self.see(low)?, self.see(high)?);
                }
                Step::Rounded { rounding, to, .. } => {
                    value = match (value, self.see(to)?) {
                        (Seen::Known(value), Seen::Known(to)) => {
                            let rounded = value.number()?.rounded_to(to.number()?, *rounding);
                            Seen::Known(Value::Number(rounded.ok()?))
                        }
                        (value, to) => together(&value, &to),
                    };
                }
            }
        }
        match value {
            Seen::Known(known) if moves != 0 => self
                .moved(decision.value_type, &known, moves)
                .map(Seen::Known),
            seen => Some(seen),
        }
    }

    fn result(&self, result: &RowResult) -> Option<Seen> {
        match result {
            RowResult::Gives(value) => self.see(value),
            _ => None,
        }
    }

    /// The one row that all columns, known or none, lead to.
    fn row_of<'t>(&self, table: &'t Table) -> Option<&'t RowResult> {
        let columns: Option<Vec<Seen>> = table
            .columns
            .iter()
            .map(|column| self.see(&column.value))
            .collect();
        let columns = columns?;
        let mut live = table.rows.iter().filter(|row| {
            let mut conditions = row.conditions.iter().zip(&columns);
            !row.is_otherwise && conditions.all(|(condition, seen)| is_met(condition, seen))
        });
        let otherwise = table.rows.last().filter(|row| row.is_otherwise);
        let row = live.next().or(otherwise)?;
        let is_one = table.hit_policy == HitPolicy::First || live.next().is_none();
        let is_open = table
            .columns
            .iter()
            .zip(&columns)
            .any(|(column, seen)| match seen {
                Seen::Known(_) => false,
                Seen::None => !column.takes_none,
                Seen::Unknown => !column.takes_unknown,
            });
        (is_one && !is_open).then_some(&row.result)
    }

    fn one(
        &self,
        value: &Expression,
        compute: impl FnOnce(Value) -> Option<Value>,
    ) -> Option<Seen> {
        match self.see(value)? {
            Seen::Known(value) => compute(value).map(Seen::Known),
            open => Some(open),
        }
    }

    fn both(
        &self,
        left: &Expression,
        right: &Expression,
        compute: impl FnOnce(Value, Value) -> Option<Value>,
    ) -> Option<Seen> {
        match (self.see(left)?, self.see(right)?) {
            (Seen::Known(left), Seen::Known(right)) => compute(left, right).map(Seen::Known),
            (left, right) => Some(together(&left, &right)),
        }
    }

    fn and_or(&self, settles: bool, left: &Expression, right: &Expression) -> Option<Seen> {
        let (left, right) = (self.see(left)?, self.see(right)?);
        Some(if left == flag(settles) || right == flag(settles) {
            flag(settles)
        } else if matches!((&left, &right), (Seen::Known(_), Seen::Known(_))) {
            flag(!settles)
        } else {
            together(&left, &right)
        })
    }

    fn moved(&self, value_type: Type, value: &Value, half_steps: i32) -> Option<Value> {
        let Type::Scale(scale) = value_type else {
            return None;
        };
        let highest = self.program.vocabularies[scale].highest();
        let wanted = value.word()?.saturating_add(half_steps);
        Some(Value::Word(wanted.clamp(0, highest.max(0))))
    }
}

/// What operands come to that are not all known: none goes before unknown.
fn together(left: &Seen, right: &Seen) -> Seen {
    if *left == Seen::None || *right == Seen::None {
        Seen::None
    } else {
        Seen::Unknown
    }
}

fn kept_within(value: Seen, low: Seen, high: Seen) -> Seen {
    match (value, low, high) {
        (Seen::Known(value), Seen::Known(low), Seen::Known(high)) => {
            Seen::Known(value.min(high).max(low))
        }
        (value, low, high) => together(&together(&value, &low), &high),
    }
}

fn flag(flag: bool) -> Seen {
    Seen::Known(Value::Flag(flag))
}

/// Whether a condition accepts what a column comes to.
pub(super) fn is_met(condition: &Condition, seen: &Seen) -> bool {
    condition.is_any
        || match seen {
            Seen::Known(value) => condition.values.contains(value),
            Seen::None => condition.none,
            Seen::Unknown => condition.unknown,
        }
}

fn arithmetic(operator: Arithmetic, left: &Value, right: &Value) -> Option<Value> {
    let (left, right): (Rational, Rational) = (left.number()?, right.number()?);
    let result = match operator {
        Arithmetic::Plus => left.plus(right),
        Arithmetic::Minus => left.minus(right),
        Arithmetic::Times => left.times(right),
        Arithmetic::Over => left.over(right),
    };
    result.ok().map(Value::Number)
}

fn stands_in(relation: Relation, left: &Value, right: &Value) -> bool {
    match relation {
        Relation::Under => left < right,
        Relation::Over => left > right,
        Relation::AtMost => left <= right,
        Relation::AtLeast => left >= right,
    }
}
