//! Readings, lets, limits and cautions: nodes that are a value or a condition and nothing more.

use loftwright_dsl::program::{Caution, Expression, Input, InputId, Let, Limit, Type, Value};
use loftwright_dsl::quantity::{Date, Rational};

use super::algebra::{Ended, outcome_of, outcome_of_answer};
use super::expression::{Asker, At};
use crate::outcome::{Cause, Outcome, State};
use crate::trace::{How, TraceSink};

/// What a limit and a caution have in common.
pub(super) struct Asked<'p> {
    condition: &'p Expression,
    only_when: Option<&'p Expression>,
    in_force: Option<(Date, Option<Date>)>,
}

impl<'p> From<&'p Limit> for Asked<'p> {
    fn from(limit: &'p Limit) -> Self {
        Asked {
            condition: &limit.condition,
            only_when: limit.only_when.as_ref(),
            in_force: limit.in_force,
        }
    }
}

impl<'p> From<&'p Caution> for Asked<'p> {
    fn from(caution: &'p Caution) -> Self {
        Asked {
            condition: &caution.condition,
            only_when: caution.only_when.as_ref(),
            in_force: caution.in_force,
        }
    }
}

impl<S: TraceSink> Asker<'_, S> {
    pub(super) fn input(&mut self, id: InputId, input: &Input) -> (Outcome, How) {
        if let Some(condition) = &input.only_when
            && let Some(open) = self.does_not_apply(condition, At::default())
        {
            return (open, How::OnlyWhen);
        }
        if input.filled_by_the_engine {
            return (self.filled(id, input), How::Plain);
        }
        match (self.world.player.readings.get(&id), &input.default) {
            (Some(reading), _) => (Outcome::Decided(reading.value.clone()), How::Plain),
            (None, Some(default)) => (Outcome::Decided(default.clone()), How::Assumed),
            (None, None) => (
                Outcome::Needs(std::iter::once(Cause::Reading(id)).collect()),
                How::Plain,
            ),
        }
    }

    /// What the engine fills: the day of the answer.
    fn filled(&self, id: InputId, input: &Input) -> Outcome {
        if input.value_type == Type::Date {
            let days = Rational::whole(self.world.today.days());
            return Outcome::Decided(Value::Number(days));
        }
        Outcome::Needs(std::iter::once(Cause::Reading(id)).collect())
    }

    pub(super) fn let_value(&mut self, value: &Let, at: At<'_>) -> Outcome {
        match &value.constant {
            Some(constant) => Outcome::Decided(constant.clone()),
            None => outcome_of_answer(self.ask(&value.value, at)),
        }
    }

    /// A limit that holds, a caution that is raised: decided with yes.
    pub(super) fn condition(&mut self, asked: &Asked<'_>, at: At<'_>) -> (Outcome, How) {
        let today = self.world.today;
        let in_force = asked
            .in_force
            .is_none_or(|(from, until)| from <= today && until.is_none_or(|until| today < until));
        if !in_force {
            return (Outcome::DoesNotApply, How::Condition { in_force });
        }
        if let Some(condition) = asked.only_when
            && let Some(open) = self.does_not_apply(condition, at)
        {
            return (open, How::OnlyWhen);
        }
        (
            outcome_of_answer(self.ask(asked.condition, at)),
            How::Condition { in_force },
        )
    }

    /// The outcome of a node whose `only when` does not hold, is not decided or ends it; `None`
    /// where it holds.
    pub(super) fn does_not_apply(&mut self, only_when: &Expression, at: At<'_>) -> Option<Outcome> {
        match self.ask(only_when, at) {
            Ok(State::Known(Value::Flag(true))) => None,
            Ok(State::Known(Value::Flag(false)) | State::None) => Some(Outcome::DoesNotApply),
            Ok(State::Known(_)) => Some(Ended::not_checked().into()),
            Ok(undecided) => Some(outcome_of(undecided)),
            Err(ended) => Some(ended.into()),
        }
    }
}
