//! The lines of a choice: which are asked, which candidates meet them, how they score.

use std::cmp::Ordering;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Choose, Expression, Needs, Preference, Prefers};

use super::candidate::{Candidate, is_own};
use super::operators::{Answer, all_known, fault, number};
use super::table::distance;
use super::{Cause, Oracle, Outcome, State, Undecided, Value};

/// Whether a line is to be looked at.
enum When {
    Asked,
    LeftOut,
    Undecided(Undecided),
}

impl<'a> Oracle<'a> {
    fn when(&self, when: Option<&Expression>, nobody: &Candidate) -> Result<When, Outcome> {
        let Some(when) = when else {
            return Ok(When::Asked);
        };
        let scope = nobody.scope().as_ruleset().expecting(None);
        Ok(match self.evaluate(when, &scope)? {
            State::Known(Value::Flag(true)) => When::Asked,
            State::Undecided(undecided) => When::Undecided(undecided),
            _ => When::LeftOut,
        })
    }

    /// The lines that are asked, once the ruleset's side of each is decided.
    pub(super) fn lines_asked<'n>(
        &self,
        needs: &[&'n Needs],
        nobody: &Candidate,
    ) -> Result<Vec<&'n Needs>, Outcome> {
        let mut asked = Vec::new();
        let mut merged = Undecided::default();
        for line in needs {
            match self.when(line.when.as_ref(), nobody)? {
                When::LeftOut => continue,
                When::Undecided(undecided) => {
                    merged.merge(&undecided);
                    continue;
                }
                When::Asked => {}
            }
            match self.holds(&line.condition, nobody)? {
                State::Undecided(undecided) => merged.merge(&rulesets_own(undecided)),
                State::None => return Err(Outcome::DoesNotApply),
                State::Known(_) => {}
            }
            asked.push(*line);
        }
        if merged == Undecided::default() {
            Ok(asked)
        } else {
            Err(State::Undecided(merged).into_outcome())
        }
    }

    fn holds(&self, condition: &Expression, candidate: &Candidate) -> Answer {
        self.evaluate(condition, &candidate.scope().as_subject())
    }

    pub(super) fn meets(
        &self,
        needs: &[&Needs],
        candidate: &Candidate,
        is_ordered: bool,
    ) -> Result<bool, Outcome> {
        for line in needs {
            match self.holds(&line.condition, candidate)? {
                State::Known(Value::Flag(true)) => {}
                State::Undecided(undecided) => {
                    let rest = rulesets_own(undecided.clone());
                    if rest != Undecided::default() {
                        return Err(State::Undecided(rest).into_outcome());
                    }
                    // What is measured on the single piece is ordered to measure.
                    let is_measured = |cause: &Cause| match cause {
                        Cause::PartField(_, field) => self
                            .rules
                            .part_field(candidate.kind(), field)
                            .is_some_and(|field| field.of_each_piece),
                        _ => false,
                    };
                    if !(is_ordered && undecided.causes.iter().all(is_measured)) {
                        return Ok(false);
                    }
                }
                _ => return Ok(false),
            }
        }
        Ok(true)
    }

    /// The lines that are weighed.
    pub(super) fn preferences_asked(
        &self,
        choose: &'a Choose,
        nobody: &Candidate,
    ) -> Result<Vec<&'a Prefers>, Outcome> {
        let mut asked = Vec::new();
        for line in &choose.prefers {
            if !matches!(self.when(line.when.as_ref(), nobody)?, When::Asked) {
                continue;
            }
            let state = match &line.what {
                Preference::Holds(condition) => self.holds(condition, nobody)?,
                Preference::Near {
                    value,
                    near,
                    within,
                } => match self.near(value, near, within, nobody)? {
                    Ok(_) => State::Known(Value::Flag(true)),
                    Err(state) => state,
                },
            };
            match state {
                State::Undecided(undecided)
                    if rulesets_own(undecided.clone()) != Undecided::default() => {}
                State::None => {}
                _ => asked.push(line),
            }
        }
        Ok(asked)
    }

    fn near(
        &self,
        value: &Expression,
        near: &Expression,
        within: &Expression,
        candidate: &Candidate,
    ) -> Result<Result<Vec<Value>, State>, Outcome> {
        let subject = candidate.scope().as_subject();
        let vocabulary = self.vocabulary_of(value, &subject);
        let value = self.evaluate(value, &subject)?;
        let ruleset = candidate.scope().as_ruleset();
        let near = self.evaluate(near, &ruleset.expecting(vocabulary))?;
        let within = self.evaluate(within, &ruleset.expecting(None))?;
        Ok(all_known(&[value, near, within]))
    }

    pub(super) fn score(
        &self,
        prefers: &[&Prefers],
        candidate: &Candidate,
    ) -> Result<Rational, Outcome> {
        let mut total = Rational::ZERO;
        for line in prefers {
            let weight = line.weight.value;
            let score = match &line.what {
                Preference::Holds(condition) => match self.holds(condition, candidate)?.flag() {
                    Some(true) => weight,
                    _ => Rational::ZERO,
                },
                Preference::Near {
                    value,
                    near,
                    within,
                } => match self.near(value, near, within, candidate)? {
                    Err(_) => Rational::ZERO,
                    Ok(values) => {
                        let share = distance(&values[0], &values[1])?;
                        let share = share.over(number(&values[2])).map_err(fault)?;
                        let left = Rational::ONE.minus(share).map_err(fault)?;
                        weight.times(left.max(Rational::ZERO)).map_err(fault)?
                    }
                },
            };
            total = total.plus(score).map_err(fault)?;
        }
        Ok(total)
    }

    pub(super) fn tie(&self, choose: &Choose, left: &Candidate, right: &Candidate) -> Ordering {
        for key in &choose.ties {
            let name = &key.by.text;
            let state = |candidate: &Candidate| candidate.let_or_field(self, name);
            let order = match (state(left), state(right)) {
                (State::Known(left), State::Known(right)) => {
                    let order = match (&left, &right) {
                        (Value::Text(left), Value::Text(right)) => left.cmp(right),
                        (Value::Flag(left), Value::Flag(right)) => left.cmp(right),
                        _ => number(&left).cmp(&number(&right)),
                    };
                    if key.largest_first {
                        order.reverse()
                    } else {
                        order
                    }
                }
                (State::Known(_), _) => Ordering::Less,
                (_, State::Known(_)) => Ordering::Greater,
                _ => Ordering::Equal,
            };
            if order != Ordering::Equal {
                return order;
            }
        }
        Ordering::Equal
    }
}

/// What of this is not the candidate's own.
fn rulesets_own(mut undecided: Undecided) -> Undecided {
    undecided.causes.retain(|cause| !is_own(cause));
    undecided
}
