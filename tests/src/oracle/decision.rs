//! Inputs, lets, decisions, limits and cautions.

use loftwright_dsl::syntax::tree::{
    Caution, Decide, DecideBody, Direction, Expression, ForEach, InForce, Input, Let, Limit, Post,
    RowResult, RowResultKind, Step, Table,
};

use super::operators::{Answer, all_known, arithmetic};
use super::table::Hit;
use super::{Cause, Oracle, Outcome, Place, Scope, State, Undecided, Value};

/// A decision's value while its tables are asked.
pub struct Progress {
    /// The value so far.
    value: State,
    /// Half steps to be moved after the last table.
    half_steps: Option<i32>,
    /// What the tables so far miss: nothing makes up for it.
    missing: Option<Undecided>,
}

impl Progress {
    /// This is the value so far.
    pub(super) fn is_worth(&mut self, value: State) {
        self.value = value;
    }

    /// Some table misses this.
    fn misses(&mut self, undecided: &Undecided) {
        self.missing
            .get_or_insert_with(Undecided::default)
            .merge(undecided);
    }
}

impl Oracle<'_> {
    pub(super) fn input(&self, input: &Input) -> Outcome {
        let name = &input.name.text;
        if let Some(condition) = &input.only_when {
            match self.evaluate(condition, &Scope::default()) {
                Ok(State::Known(Value::Flag(true))) => {}
                Ok(State::Undecided(undecided)) => {
                    return State::Undecided(undecided).into_outcome();
                }
                Ok(_) => return Outcome::DoesNotApply,
                Err(ended) => return ended,
            }
        }
        if input.filled_by_the_engine {
            assert_eq!(name, "today");
            return Outcome::Decided(Value::Date(self.today));
        }
        let type_name = Some(input.type_reference.name.text.as_str());
        match (self.person.readings.get(name), &input.default) {
            (Some(text), _) => Outcome::Decided(self.rules.read(text, &input.type_reference)),
            (None, Some(default)) => self.literal(&default.kind, type_name).into_outcome(),
            (None, None) => {
                State::Undecided(Undecided::cause(Cause::Reading(name.clone()))).into_outcome()
            }
        }
    }

    pub(super) fn let_value(&self, value: &Let, place: &Place) -> Outcome {
        let stated = value
            .type_reference
            .as_ref()
            .map(|stated| stated.name.text.clone());
        let scope = self
            .scope_of(place, value.for_each.as_ref())
            .expecting(stated);
        match self.evaluate(&value.value, &scope) {
            Ok(state) => state.into_outcome(),
            Err(ended) => ended,
        }
    }

    pub(super) fn limit(&self, limit: &Limit, place: &Place) -> Outcome {
        let in_force = limit.in_force.as_ref();
        let only_when = limit.only_when.as_ref();
        self.condition(
            &limit.condition,
            limit.for_each.as_ref(),
            only_when,
            in_force,
            place,
        )
    }

    pub(super) fn caution(&self, caution: &Caution, place: &Place) -> Outcome {
        let in_force = caution.in_force.as_ref();
        let only_when = caution.only_when.as_ref();
        self.condition(
            &caution.condition,
            caution.for_each.as_ref(),
            only_when,
            in_force,
            place,
        )
    }

    fn condition(
        &self,
        condition: &Expression,
        for_each: Option<&ForEach>,
        only_when: Option<&Expression>,
        in_force: Option<&InForce>,
        place: &Place,
    ) -> Outcome {
        if let Some(in_force) = in_force {
            let has_begun = self.today >= in_force.from.days();
            let is_over = in_force
                .until
                .is_some_and(|until| self.today >= until.days());
            if !has_begun || is_over {
                return Outcome::DoesNotApply;
            }
        }
        let scope = self.scope_of(place, for_each);
        if let Some(ended) = self.only_when(only_when, &scope) {
            return ended;
        }
        match self.evaluate(condition, &scope) {
            Ok(state) => state.into_outcome(),
            Err(ended) => ended,
        }
    }

    /// `only when`: `None` where it holds, else how the node ends.
    pub(super) fn only_when(
        &self,
        condition: Option<&Expression>,
        scope: &Scope,
    ) -> Option<Outcome> {
        match self.evaluate(condition?, scope) {
            Ok(State::Known(Value::Flag(true))) => None,
            Ok(State::Undecided(undecided)) => Some(State::Undecided(undecided).into_outcome()),
            Ok(_) => Some(Outcome::DoesNotApply),
            Err(ended) => Some(ended),
        }
    }

    /// The scope of a declaration for a club.
    pub(super) fn scope_of<'c>(&self, place: &Place, for_each: Option<&ForEach>) -> Scope<'c> {
        let mut scope = Scope {
            owner: Some(place.name.clone()),
            ..Scope::default()
        };
        if let (Some(for_each), Some(member)) = (for_each, place.member) {
            scope.club = Some((for_each.group.text.clone(), member));
            let line = self.line_of(&place.name, for_each);
            let position = line.iter().position(|other| *other == member).unwrap();
            scope.line = Some((line, position));
        }
        scope
    }

    pub(super) fn decide(&self, decide: &Decide, place: &Place) -> Outcome {
        let scope = self.scope_of(place, decide.for_each.as_ref());
        if let Some(ended) = self.only_when(decide.only_when.as_ref(), &scope) {
            return ended;
        }
        match self.decided(decide, &scope) {
            Ok(state) => state.into_outcome(),
            Err(ended) => ended,
        }
    }

    fn decided(&self, decide: &Decide, scope: &Scope) -> Answer {
        let type_name = decide.type_reference.name.text.clone();
        let vocabulary = self
            .rules
            .vocabularies
            .contains_key(&type_name)
            .then_some(type_name);
        let scope = &scope.expecting(vocabulary);
        let mut tables = 0;
        let mut progress = Progress {
            value: State::None,
            half_steps: None,
            missing: None,
        };
        match &decide.body {
            DecideBody::Table(table) => {
                self.ask(table, 0, &mut progress, scope)?;
                tables += 1;
            }
            DecideBody::Gives(gives) => progress.value = self.evaluate(&gives.value, scope)?,
            DecideBody::Progression(progression) => {
                tables += self.progression(progression, &mut progress, scope)?;
            }
        }
        for step in &decide.steps {
            if let Step::Table(table) = step {
                // Asked also while something is missing, so that all readings are named at once.
                if progress.value != State::None || progress.missing.is_some() {
                    self.ask(table, tables, &mut progress, scope)?;
                }
                tables += 1;
            }
        }
        // As everywhere, none goes before undecided.
        if let Some(mut missing) = progress.missing.take()
            && progress.value != State::None
        {
            if let State::Undecided(undecided) = &progress.value {
                missing.merge(undecided);
            }
            progress.value = State::Undecided(missing);
        }
        if let (Some(half_steps), State::Known(value)) = (progress.half_steps, &progress.value) {
            progress.value = State::Known(self.moved(value, Direction::Up, half_steps));
        }
        for step in &decide.steps {
            if let Step::Post(post, _) = step {
                progress.value = self.last_step(progress.value, post, scope)?;
            }
        }
        Ok(progress.value)
    }

    fn last_step(&self, value: State, post: &Post, scope: &Scope) -> Answer {
        match (&value, post) {
            (State::Known(_), _) | (State::Undecided(_), Post::OrIfUnknown(_)) => {
                self.post(value, post, scope)
            }
            _ => Ok(value),
        }
    }

    /// Asks a table and does what its row says.
    pub(super) fn ask(
        &self,
        table: &Table,
        number: usize,
        progress: &mut Progress,
        scope: &Scope,
    ) -> Result<(), Outcome> {
        match self.hit(table, scope)? {
            Hit::Result(result, row) => self.apply(result, (number, row), progress, scope)?,
            Hit::DoesNotApply => progress.value = State::None,
            Hit::Undecided(undecided) if progress.value == State::None => {
                progress.value = State::Undecided(undecided);
            }
            Hit::Undecided(undecided) => progress.misses(&undecided),
            Hit::Gap(last) => return Err(Outcome::Contradicted(number, last)),
        }
        Ok(())
    }

    fn apply(
        &self,
        result: &RowResult,
        (table, row): (usize, Option<usize>),
        progress: &mut Progress,
        scope: &Scope,
    ) -> Result<(), Outcome> {
        use loftwright_dsl::syntax::tree::BinaryOperator::{Minus, Plus};
        match &result.kind {
            RowResultKind::Gives(value) => progress.value = self.evaluate(value, scope)?,
            RowResultKind::Keeps => {}
            RowResultKind::Moves {
                direction,
                half_steps,
            } => {
                let steps = match direction {
                    Direction::Up => *half_steps,
                    Direction::Down => -half_steps,
                };
                *progress.half_steps.get_or_insert(0) += steps;
            }
            RowResultKind::Adds(value) | RowResultKind::TakesOff(value) => {
                let is_added = matches!(result.kind, RowResultKind::Adds(_));
                let value = self.evaluate(value, &scope.expecting(None))?;
                progress.value = match all_known(&[progress.value.clone(), value]) {
                    Ok(values) => {
                        let operator = if is_added { Plus } else { Minus };
                        State::Known(arithmetic(operator, &values[0], &values[1])?)
                    }
                    Err(state) => state,
                };
            }
            RowResultKind::CannotHappen => {
                return Err(Outcome::Contradicted(table, row.unwrap()));
            }
        }
        Ok(())
    }

    /// Replaces the value.
    pub(super) fn gives(
        &self,
        value: &Expression,
        progress: &mut Progress,
        scope: &Scope,
    ) -> Result<(), Outcome> {
        progress.value = self.evaluate(value, scope)?;
        Ok(())
    }
}
