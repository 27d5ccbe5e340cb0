//! The steps after a decision's value was given.

use loftwright_dsl::program::{Body, Decision, NextStep, Step, Value};

use super::algebra::{Answer, Ended, all_three, both, merge, number};
use super::decision::Deciding;
use super::expression::{Asker, At};
use super::operators;
use crate::outcome::State;
use crate::trace::{StepTrace, TraceSink};

impl<S: TraceSink> Asker<'_, S> {
    /// The steps after the value was given.
    pub(super) fn decide_steps(
        &mut self,
        decision: &Decision,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Answer {
        // The number of a table does not depend on which clause gave the value.
        deciding.table = usize::from(body_has_a_table(&decision.body));
        for step in &decision.steps {
            if let Step::Table(table) = step
                && deciding.value != State::None
                && let Some(undecided) = self.look_up(table, at, deciding)?
            {
                merge(deciding.waiting.get_or_insert_default(), *undecided);
            }
        }
        self.apply_moves(decision, deciding)?;
        if let Some(waiting) = deciding.waiting.take() {
            match &mut deciding.value {
                State::None => {}
                State::Known(_) => deciding.value = State::Undecided(waiting),
                State::Undecided(undecided) => merge(undecided, *waiting),
            }
        }
        for (number, step) in decision.steps.iter().enumerate() {
            self.apply_post(number, step, at, deciding)?;
        }
        Ok(std::mem::replace(&mut deciding.value, State::None))
    }

    fn apply_moves(&mut self, decision: &Decision, deciding: &mut Deciding) -> Result<(), Ended> {
        let (Some(half_steps), State::Known(value)) = (deciding.moves, &deciding.value) else {
            return Ok(());
        };
        let (value, stopped) =
            operators::moved(self.world.program, decision.value_type, value, half_steps)?;
        if S::IS_KEPT {
            self.sink.step(StepTrace::Moved {
                half_steps,
                value: value.clone(),
                stopped,
            });
        }
        deciding.value = State::Known(value);
        Ok(())
    }

    fn apply_post(
        &mut self,
        step_number: usize,
        step: &Step,
        at: At<'_>,
        deciding: &mut Deciding,
    ) -> Result<(), Ended> {
        let value = std::mem::replace(&mut deciding.value, State::None);
        let after = match (step, value) {
            (Step::Table(_), value)
            | (Step::OrIfUnknown { .. }, value @ (State::Known(_) | State::None)) => {
                deciding.value = value;
                return Ok(());
            }
            (Step::OrIfUnknown { instead, .. }, State::Undecided(_)) => self.ask(instead, at)?,
            (Step::KeptWithin { low, high, .. }, value) => {
                let (low, high) = (self.ask(low, at)?, self.ask(high, at)?);
                match all_three(value, low, high) {
                    Ok((value, low, high)) => {
                        State::Known(operators::kept_within(&value, &low, &high).clone())
                    }
                    Err(open) => open,
                }
            }
            (Step::Rounded { rounding, to, .. }, value) => match both(value, self.ask(to, at)?) {
                Ok((value, to)) => State::Known(Value::Number(
                    number(&value)?.rounded_to(number(&to)?, *rounding)?,
                )),
                Err(open) => open,
            },
        };
        if let (true, State::Known(value)) = (S::IS_KEPT, &after) {
            self.sink.step(StepTrace::Post {
                step: step_number,
                value: value.clone(),
            });
        }
        deciding.value = after;
        Ok(())
    }
}

fn body_has_a_table(body: &Body) -> bool {
    match body {
        Body::Table(_) => true,
        Body::Gives(_) => false,
        Body::Progression(progression) => matches!(progression.next, Some(NextStep::Table(_))),
    }
}
