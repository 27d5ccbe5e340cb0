//! `agrees on`: the whole choice once for each family, and the best of them.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use loftwright_dsl::quantity::Rational;
use loftwright_dsl::syntax::tree::{Choose, RungKind};

use super::candidate::Candidate;
use super::choose::{Found, Source, Supply};
use super::operators::number;
use super::{Oracle, Outcome, Scope, State, Undecided, Value};

/// What all parts of a choice have in common.
#[derive(Clone)]
pub struct Family {
    fields: Vec<String>,
    /// One value a field; of no family at all there is no candidate.
    values: Option<Vec<Value>>,
}

impl<'a> Oracle<'a> {
    /// The choice for all its clubs, made with one family where its lines say so.
    pub(super) fn agreed(&self, choose: &'a Choose, supply: &Supply) -> BTreeMap<usize, Outcome> {
        let fields = match self.fields_to_agree(choose) {
            Ok(fields) => fields,
            Err(ended) => return self.all_end(choose, &ended),
        };
        if fields.is_empty() {
            return outcomes(&self.for_all(choose, supply));
        }
        let families = self.families(choose, &fields, supply);
        let with = |values: Option<Vec<Value>>| {
            let family = Family {
                fields: fields.clone(),
                values,
            };
            let supply = Supply {
                family: Some(family),
                ..supply.clone()
            };
            self.for_all(choose, &supply)
        };
        if families.is_empty() {
            return outcomes(&with(None));
        }
        let runs: Vec<_> = families
            .into_iter()
            .map(|values| with(Some(values)))
            .collect();
        // Of equal ones the first is the lowest value.
        let winner = runs.iter().min_by_key(|run| worth(run)).unwrap();
        let mut outcomes = outcomes(winner);
        for (member, outcome) in &mut outcomes {
            if is_nothing(outcome) {
                let others = runs.iter().map(|run| &run[member].outcome);
                let mut waiting = others.filter(|other| !is_nothing(other) && !is_found(other));
                if let Some(other) = waiting.next() {
                    *outcome = other.clone();
                }
            }
        }
        outcomes
    }

    /// The fields of the lines that are asked; how the clubs end where that is not decided.
    fn fields_to_agree(&self, choose: &Choose) -> Result<Vec<String>, Outcome> {
        let mut fields = Vec::new();
        let mut merged = Undecided::default();
        for line in &choose.agrees_on {
            let state = match &line.when {
                Some(when) => self.evaluate(when, &Scope::default())?,
                None => State::Known(Value::Flag(true)),
            };
            match state {
                State::Known(Value::Flag(true)) => fields.push(line.field.text.clone()),
                State::Undecided(undecided) => merged.merge(&undecided),
                _ => {}
            }
        }
        if merged == Undecided::default() {
            Ok(fields)
        } else {
            Err(State::Undecided(merged).into_outcome())
        }
    }

    /// Every club whose `only when` holds ends like this.
    fn all_end(&self, choose: &Choose, ended: &Outcome) -> BTreeMap<usize, Outcome> {
        let end = |place: super::Place| {
            let scope = self.scope_of(&place, choose.for_each.as_ref());
            let own = self.only_when(choose.only_when.as_ref(), &scope);
            (place.member.unwrap(), own.unwrap_or_else(|| ended.clone()))
        };
        self.places_in_order(choose).into_iter().map(end).collect()
    }

    /// The families among what there is, in order of value.
    fn families(&self, choose: &'a Choose, fields: &[String], supply: &Supply) -> Vec<Vec<Value>> {
        let orders = choose
            .rungs
            .iter()
            .any(|rung| matches!(rung.kind, RungKind::Orders));
        let mut sources = Vec::new();
        if choose.takes.is_some() {
            sources.push(Source::OnHand);
        }
        if choose.takes.is_none() || orders {
            sources.push(Source::Catalogue);
        }
        let mut families: Vec<Vec<Value>> = Vec::new();
        for source in sources {
            for candidate in self.candidates(choose, source, supply, &Scope::default()) {
                families.extend(self.family_of(fields, &candidate));
            }
        }
        families.sort_by(|left, right| by_value(left, right));
        families.dedup();
        families
    }

    fn family_of(&self, fields: &[String], candidate: &Candidate) -> Option<Vec<Value>> {
        let value = |field: &String| match candidate.field(self, field) {
            State::Known(value) => Some(value),
            _ => None,
        };
        fields.iter().map(value).collect()
    }

    /// Whether a candidate is of a family, where one is asked for.
    pub(super) fn is_of(&self, family: Option<&Family>, candidate: &Candidate) -> bool {
        let Some(family) = family else { return true };
        let values = self.family_of(&family.fields, candidate);
        values.is_some() && values == family.values
    }
}

/// Clubs with nothing, orders, levels, minus scores: less is better.
fn worth(run: &BTreeMap<usize, Found>) -> (usize, usize, usize, Rational) {
    let mut worth = (0, 0, 0, Rational::ZERO);
    for found in run.values() {
        match &found.outcome {
            Outcome::Chosen(pick) => worth.2 += pick.rung.map_or(0, |rung| rung + 1),
            Outcome::Ordered(_) => worth.1 += 1,
            Outcome::DoesNotApply => {}
            _ => worth.0 += 1,
        }
        worth.3 = worth.3.minus(found.score).unwrap();
    }
    worth
}

fn is_nothing(outcome: &Outcome) -> bool {
    matches!(outcome, Outcome::LeftOpen | Outcome::NoneOnHand)
}

fn is_found(outcome: &Outcome) -> bool {
    matches!(
        outcome,
        Outcome::Chosen(_) | Outcome::Ordered(_) | Outcome::DoesNotApply
    )
}

fn outcomes(run: &BTreeMap<usize, Found>) -> BTreeMap<usize, Outcome> {
    let outcome = |(member, found): (&usize, &Found)| (*member, found.outcome.clone());
    run.iter().map(outcome).collect()
}

/// Numbers upward, words as declared, no before yes, texts by their bytes.
fn by_value(left: &[Value], right: &[Value]) -> Ordering {
    let one = |left: &Value, right: &Value| match (left, right) {
        (Value::Text(left), Value::Text(right)) => left.as_bytes().cmp(right.as_bytes()),
        (Value::Flag(left), Value::Flag(right)) => left.cmp(right),
        _ => number(left).cmp(&number(right)),
    };
    let pairs = left.iter().zip(right).map(|(left, right)| one(left, right));
    pairs.fold(Ordering::Equal, Ordering::then)
}
