//! Values over a group or the parts of a catalogue.

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Aggregate, Expression, Reference};

use super::candidate::{Candidate, seen_from_outside};
use super::operators::{Answer, all_known, arithmetic, extreme};
use super::{Oracle, Scope, State, Undecided, Value};

impl Oracle<'_> {
    /// What an aggregate comes to.
    pub(super) fn aggregate(&self, aggregate: &Aggregate, scope: &Scope) -> Answer {
        match aggregate {
            Aggregate::NumberOf { over, condition } => {
                let matching = self.conditions(&over.text, condition.as_deref(), scope)?;
                Ok(match matching {
                    Ok(flags) => {
                        let count = flags
                            .iter()
                            .filter(|flag| flag.flag() == Some(true))
                            .count();
                        match undecided_of(&flags) {
                            Some(undecided) => State::Undecided(undecided),
                            None => {
                                let count = i64::try_from(count).unwrap();
                                State::Known(Value::Number(Rational::whole(count)))
                            }
                        }
                    }
                    Err(state) => state,
                })
            }
            Aggregate::AnyWhere { over, condition } => {
                let matching = self.conditions(&over.text, Some(condition), scope)?;
                Ok(match matching {
                    Ok(flags) if flags.iter().any(|flag| flag.flag() == Some(true)) => {
                        State::Known(Value::Flag(true))
                    }
                    Ok(flags) => match undecided_of(&flags) {
                        Some(undecided) => State::Undecided(undecided),
                        None => State::Known(Value::Flag(false)),
                    },
                    Err(state) => state,
                })
            }
            Aggregate::ExtremeOf {
                extreme: which,
                value,
                over,
            } => self.folded(value, &over.text, |left, right| {
                Ok(extreme(*which, left, right))
            }),
            Aggregate::TotalOf { value, over } => {
                let total = self.folded(value, &over.text, |left, right| {
                    let plus = loftwright_dsl::syntax::tree::BinaryOperator::Plus;
                    arithmetic(plus, &left, &right)
                })?;
                // The total of nothing is nothing.
                Ok(match total {
                    State::None => State::Known(Value::Number(Rational::ZERO)),
                    other => other,
                })
            }
        }
    }

    /// Everything of a kind that lies in the drawers: each piece, each of those that are counted.
    fn on_hand<'s>(&'s self, kind: &str) -> Vec<Candidate<'s>> {
        let mut candidates = Vec::new();
        for part in self.parts.kinds.get(kind).into_iter().flatten() {
            let pieces = part.pieces.iter().enumerate().map(Some);
            let counted = (0..part.on_hand).map(|_| None);
            let each = pieces.chain(counted);
            candidates.extend(each.map(|piece| Candidate::on_hand(kind, part, piece)));
        }
        candidates
    }

    /// The condition of each member, or the state of a group that is not decided.
    fn conditions(
        &self,
        over: &str,
        condition: Option<&Expression>,
        scope: &Scope,
    ) -> Result<Result<Vec<State>, State>, super::Outcome> {
        let mut flags = Vec::new();
        let all = || State::Known(Value::Flag(true));
        // `any grip where …` says it in the singular.
        let part = self
            .rules
            .part_of_plural(over)
            .or_else(|| self.rules.parts.get(over));
        if let Some(part) = part {
            let kind = &part.name.text;
            for candidate in self.on_hand(kind) {
                let inner = Scope {
                    candidate: Some(&candidate),
                    on_candidates_side: true,
                    club: scope.club.clone(),
                    ..Scope::default()
                };
                flags.push(match condition {
                    Some(condition) => seen_from_outside(self.evaluate(condition, &inner)?),
                    None => all(),
                });
            }
            return Ok(Ok(flags));
        }
        let group = self.rules.group_of_plural(over);
        let group = &group
            .unwrap_or_else(|| panic!("`{over}` is no group"))
            .name
            .text;
        let Ok(members) = self.group(group) else {
            return Ok(Err(self.group_state(group)));
        };
        for member in 0..members.list.len() {
            let inner = Scope {
                club: Some((group.clone(), member)),
                ..Scope::default()
            };
            flags.push(match condition {
                Some(condition) => self.evaluate(condition, &inner)?,
                None => all(),
            });
        }
        Ok(Ok(flags))
    }

    /// The values of all members joined; a member without one is left out, `none` where all are.
    fn folded(
        &self,
        value: &Reference,
        over: &str,
        join: impl Fn(Value, Value) -> Result<Value, super::Outcome>,
    ) -> Answer {
        let group = self.rules.group_of_plural(over);
        let group = &group
            .unwrap_or_else(|| panic!("`{over}` is no group"))
            .name
            .text;
        let Ok(members) = self.group(group) else {
            return Ok(self.group_state(group));
        };
        let mut states = Vec::new();
        for member in 0..members.list.len() {
            let inner = Scope {
                club: Some((group.clone(), member)),
                ..Scope::default()
            };
            states.push(self.reference(value, &inner));
        }
        states.retain(|state| *state != State::None);
        let values = match all_known(&states) {
            Ok(values) => values,
            Err(state) => return Ok(state),
        };
        let mut values = values.into_iter();
        let Some(mut joined) = values.next() else {
            return Ok(State::None);
        };
        for value in values {
            joined = join(joined, value)?;
        }
        Ok(State::Known(joined))
    }
}

fn undecided_of(flags: &[State]) -> Option<Undecided> {
    let mut merged = None;
    for flag in flags {
        if let State::Undecided(undecided) = flag {
            merged
                .get_or_insert_with(Undecided::default)
                .merge(undecided);
        }
    }
    merged
}
