//! The maker `make_up` at work: what it reads of the candidates, and the plan that it leaves.

use loftwright_dsl::program::{Node, Value};
use loftwright_dsl::quantity::Rational;

use super::algebra::{Ended, merge, outcome_of};
use super::expression::Asker;
use super::group::{Identity, NewGroup};
use super::reference::add_club;
use crate::contract::MakeUpNames;
use crate::outcome::{Fault, State, Undecided};
use crate::set::make_up::{Contender, MadeUp, Standing, Terms, make_up};
use crate::trace::{PlanTrace, TraceSink};

/// What stands of the candidates.
struct Field {
    contenders: Vec<Contender>,
    /// The place of each contender among the candidates.
    places: Vec<usize>,
    /// Clubs that are settled and whose carry is not known, by their places.
    without_carry: Vec<usize>,
    /// Free candidates whose carry is not known, by their places, and why.
    unplaced: Vec<usize>,
    undecided: Option<Box<Undecided>>,
}

impl<S: TraceSink> Asker<'_, S> {
    /// The set for full swings.
    pub(super) fn make_plan(&mut self, names: &MakeUpNames) -> NewGroup {
        let planned = self.terms(names).and_then(|terms| {
            let field = self.field_of_contenders(names)?;
            Ok((terms, field))
        });
        let (terms, field) = match planned {
            Ok(planned) => planned,
            Err(undecided) => {
                let outcome = outcome_of(State::Undecided(undecided));
                return NewGroup::without_clubs(outcome);
            }
        };
        let made = terms
            .and_then(|terms| {
                let settled = i64::try_from(field.without_carry.len()).unwrap_or(i64::MAX);
                let most = terms.most_in_bag.saturating_sub(settled).saturating_sub(1);
                let most_clubs = usize::try_from(most).unwrap_or(0);
                let of_search = Terms {
                    narrowest_gap: terms.narrowest_gap,
                    most_clubs,
                };
                Ok((make_up(&field.contenders, of_search)?, of_search))
            })
            .and_then(|(made, terms)| Ok((self.planned_clubs(names, &field, &made)?, made, terms)));
        match made {
            Ok((group, made, terms)) => NewGroup {
                plan: S::IS_KEPT.then(|| Box::new(trace_of(names, &field, made, terms))),
                ..group
            },
            Err(ended) => NewGroup::without_clubs(ended.into()),
        }
    }

    /// The gaps and the number of clubs.
    fn terms(&self, names: &MakeUpNames) -> Result<Result<WholeTerms, Ended>, Box<Undecided>> {
        let nodes = [names.narrowest_gap, names.most_in_bag];
        let mut undecided: Option<Box<Undecided>> = None;
        let numbers = nodes.map(|node| match self.read(node, None) {
            State::Known(value) => value.number(),
            State::None => None,
            State::Undecided(more) => {
                merge(undecided.get_or_insert_default(), *more);
                None
            }
        });
        if let Some(undecided) = undecided {
            return Err(undecided);
        }
        let [narrowest_gap, most_in_bag] = numbers;
        let most_in_bag = most_in_bag.and_then(Rational::to_whole);
        Ok(most_in_bag
            .map(|most_in_bag| WholeTerms {
                // Where there is no narrowest gap no step is too small.
                narrowest_gap: narrowest_gap.unwrap_or(Rational::ZERO),
                most_in_bag,
            })
            .ok_or(Ended::Faulted(Fault::NotANumberOfClubs)))
    }

    /// The candidates that could be taken. One whose carry is not known cannot be placed; where
    /// that goes for all of the free ones there is no plan.
    fn field_of_contenders(&self, names: &MakeUpNames) -> Result<Field, Box<Undecided>> {
        let clubs = self.evaluation.members(names.candidate);
        let clubs = clubs.ok_or_else(|| self.evaluation.not_made(names.candidate))?;
        let mut field = Field {
            contenders: Vec::with_capacity(clubs.len()),
            places: Vec::with_capacity(clubs.len()),
            without_carry: Vec::new(),
            unplaced: Vec::new(),
            undecided: None,
        };
        let mut undecided: Option<Box<Undecided>> = None;
        for member in 0..clubs.len() {
            if let Err(more) = self.add_contender(names, member, &mut field) {
                merge(undecided.get_or_insert_default(), *more);
            }
        }
        match (undecided, field.undecided.take()) {
            (Some(undecided), _) => Err(undecided),
            (None, Some(undecided)) if !field.has_free() => Err(undecided),
            _ => Ok(field),
        }
    }

    fn add_contender(
        &self,
        names: &MakeUpNames,
        member: usize,
        field: &mut Field,
    ) -> Result<(), Box<Undecided>> {
        let at = Some((names.candidate, member));
        let flag = |node: Node| match self.read(node, at) {
            State::Known(Value::Flag(flag)) => Ok(flag),
            State::Undecided(undecided) => Err(undecided),
            State::Known(_) | State::None => Ok(false),
        };
        let [kind, is_kept, loft] = names
            .candidate_fields
            .map(|field| self.evaluation.field(names.candidate, member, field));
        let Some(State::Known(Value::Word(kind))) = kind else {
            return Ok(());
        };
        let is_kept = is_kept == Some(State::Known(Value::Flag(true)));
        let standing = match kind == names.driver {
            true => Standing::Driver,
            false if is_kept => Standing::Kept,
            false if !flag(names.allowed)? => return Ok(()),
            false if flag(names.required)? => Standing::Required,
            false => Standing::Free,
        };
        let is_settled = standing.is_settled();
        let number = |node: Node| match self.read(node, at) {
            State::Known(value) => Ok(value.number()),
            State::None => Ok(None),
            State::Undecided(undecided) => Err(undecided),
        };
        let reluctance = match is_settled {
            true => None,
            false => number(names.reluctance)?,
        };
        let widest_gap = number(names.widest_gap)?;
        match self.read(names.candidate_carry, at) {
            State::Known(Value::Number(carry)) => {
                field.places.push(member);
                field.contenders.push(Contender {
                    kind,
                    loft: match loft {
                        Some(State::Known(Value::Number(loft))) => Some(loft),
                        _ => None,
                    },
                    carry,
                    standing,
                    reluctance: reluctance.unwrap_or(Rational::ZERO),
                    widest_gap,
                });
            }
            _ if is_settled => field.without_carry.push(member),
            State::Undecided(more) => {
                field.unplaced.push(member);
                merge(field.undecided.get_or_insert_default(), *more);
            }
            State::Known(_) | State::None => {}
        }
        Ok(())
    }

    fn planned_clubs(
        &self,
        names: &MakeUpNames,
        field: &Field,
        made: &MadeUp,
    ) -> Result<NewGroup, Ended> {
        let candidates = self.evaluation.members(names.candidate).unwrap_or_default();
        let mut identities = Vec::with_capacity(made.clubs.len());
        let mut fields = Vec::with_capacity(made.clubs.len().saturating_mul(names.width));
        let mut numbers: Vec<i32> = Vec::with_capacity(made.clubs.len());
        let mut longer: Option<Rational> = None;
        for contender in &made.clubs {
            let place = field.places.get(*contender).copied();
            let place = place.ok_or_else(Ended::not_checked)?;
            let club = candidates.get(place).copied();
            let contender = field.contenders.get(*contender);
            let contender = contender.ok_or_else(Ended::not_checked)?;
            identities.push(Identity::Same(club.ok_or_else(Ended::not_checked)?));
            numbers.push(contender.kind);
            let of_kind = numbers.iter().filter(|kind| **kind == contender.kind);
            let number = i64::try_from(of_kind.count()).unwrap_or(i64::MAX);
            let gap = longer
                .map(|longer| longer.minus(contender.carry))
                .transpose()?;
            longer = Some(contender.carry);
            let [_, is_kept, loft] = names.candidate_fields.map(|field| {
                let state = self.evaluation.field(names.candidate, place, field);
                state.unwrap_or(State::None)
            });
            let known = |number| State::Known(Value::Number(number));
            let values = [
                State::Known(Value::Word(contender.kind)),
                is_kept,
                loft,
                known(Rational::whole(number)),
                known(contender.carry),
                gap.map_or(State::None, known),
            ];
            let known = names.fields.into_iter().zip(values);
            add_club(names.width, known, &mut fields);
        }
        Ok(NewGroup::made(identities, fields, names.width))
    }
}

/// What the rules ask of the plan.
struct WholeTerms {
    narrowest_gap: Rational,
    /// With the putter.
    most_in_bag: i64,
}

impl Field {
    fn has_free(&self) -> bool {
        let mut contenders = self.contenders.iter();
        contenders.any(|contender| !contender.standing.is_settled())
    }

    /// The candidate that a contender is.
    fn place(&self, contender: usize) -> usize {
        self.places.get(contender).copied().unwrap_or(contender)
    }

    /// Neighbours in loft, stronger loft first, of which the weaker carries no less: by kind, the
    /// wedges with the irons.
    fn not_falling(&self, names: &MakeUpNames) -> Vec<(usize, usize)> {
        let family = |kind: i32| {
            if kind == names.wedge {
                names.iron
            } else {
                kind
            }
        };
        let with_loft = self.contenders.iter().enumerate();
        let mut by_loft: Vec<(i32, Rational, usize)> = with_loft
            .filter_map(|(index, contender)| Some((family(contender.kind), contender.loft?, index)))
            .collect();
        by_loft.sort();
        let mut not_falling = Vec::new();
        for pair in by_loft.windows(2) {
            let [(kind, loft, stronger), (next_kind, next_loft, weaker)] = pair else {
                continue;
            };
            let carry = |index: &usize| self.contenders.get(*index).map(|club| club.carry);
            if kind == next_kind && loft < next_loft && carry(stronger) <= carry(weaker) {
                not_falling.push((self.place(*stronger), self.place(*weaker)));
            }
        }
        not_falling
    }
}

fn trace_of(names: &MakeUpNames, field: &Field, made: MadeUp, terms: Terms) -> PlanTrace {
    let MadeUp {
        clubs,
        held,
        objective,
    } = made;
    let held = held.into_iter();
    PlanTrace {
        terms,
        objective,
        contenders: field.contenders.len(),
        taken: clubs.into_iter().map(|club| field.place(club)).collect(),
        held: held
            .map(|(club, holder)| (field.place(club), field.place(holder)))
            .collect(),
        without_carry: field.without_carry.clone(),
        unplaced: field.unplaced.clone(),
        not_falling: field.not_falling(names),
    }
}
