//! The maker `standard_set` at work: what it reads of the evaluation, and the bag that it leaves.

use loftwright_dsl::program::Value;

use super::algebra::{merge, outcome_of};
use super::expression::Asker;
use super::group::{Identity, NewGroup};
use super::reference::add_club;
use super::state::Club;
use crate::contract::{PlannedNames, StandardSetNames};
use crate::outcome::{State, Undecided};
use crate::set::standard_set::{BagClub, KeptClub, PlannedClub, PlannedKind, standard_set};
use crate::trace::TraceSink;

impl<S: TraceSink> Asker<'_, S> {
    /// The whole bag.
    pub(super) fn make_standard_set(&mut self, names: &StandardSetNames) -> NewGroup {
        let made = self.plan(names).and_then(|plan| {
            let kept = self.kept_clubs(names)?;
            Ok((standard_set(plan, &kept), kept))
        });
        let (bag, kept) = match made {
            Ok(made) => made,
            Err(undecided) => {
                return NewGroup::without_clubs(outcome_of(State::Undecided(undecided)));
            }
        };
        let identity = |club: &BagClub| {
            let kept = club
                .kept
                .and_then(|kept_club| kept.get(kept_club))
                .map(|kept| kept.club);
            match (club.planned, kept) {
                (Some(planned), Some(kept)) => Identity::Both(planned, kept),
                (Some(club), None) | (None, Some(club)) => Identity::Same(club),
                (None, None) => Identity::New,
            }
        };
        let identities = bag.iter().map(identity).collect();
        let mut fields = Vec::with_capacity(bag.len().saturating_mul(names.width));
        for club in &bag {
            let known = self.bag_fields(names, club).into_iter();
            add_club(names.width, known, &mut fields);
        }
        NewGroup::made(identities, fields, names.width)
    }

    fn plan(&self, names: &StandardSetNames) -> Result<Vec<PlannedKind>, Box<Undecided>> {
        let driver = match self.read(names.driver_target_loft, None) {
            State::None => Vec::new(),
            loft => vec![PlannedClub {
                club: self.planned_driver(names),
                loft: Some(loft),
            }],
        };
        let putter = vec![PlannedClub {
            club: None,
            loft: None,
        }];
        let single = |kind, places| PlannedKind {
            kind,
            at_any_loft: true,
            places,
        };
        let mut plan = vec![single(names.driver, driver)];
        let mut undecided: Option<Box<Undecided>> = None;
        for planned in &names.planned {
            match self.planned_kind(planned) {
                Ok(kind) => plan.push(kind),
                Err(more) => merge(undecided.get_or_insert_default(), *more),
            }
        }
        plan.push(single(names.putter, putter));
        undecided.map_or(Ok(plan), Err)
    }

    /// The driver of the plan, where there is a plan.
    fn planned_driver(&self, names: &StandardSetNames) -> Option<Club> {
        let clubs = self.evaluation.members(names.plan)?;
        let [kind, ..] = names.plan_fields;
        let driver = Some(State::Known(Value::Word(names.driver)));
        let is_driver = |member: &usize| self.evaluation.field(names.plan, *member, kind) == driver;
        let member = (0..clubs.len()).find(is_driver)?;
        clubs.get(member).copied()
    }

    fn planned_kind(&self, names: &PlannedNames) -> Result<PlannedKind, Box<Undecided>> {
        let clubs = self.evaluation.members(names.group);
        let clubs = clubs.ok_or_else(|| self.evaluation.not_made(names.group))?;
        let place = |(member, club): (usize, _)| PlannedClub {
            club: Some(club),
            loft: Some(self.read(names.loft, Some((names.group, member)))),
        };
        let places = clubs.iter().copied().enumerate().map(place).collect();
        Ok(PlannedKind {
            kind: names.kind,
            at_any_loft: false,
            places,
        })
    }

    fn kept_clubs(&self, names: &StandardSetNames) -> Result<Vec<KeptClub>, Box<Undecided>> {
        let clubs = self.evaluation.members(names.kept);
        let clubs = clubs.ok_or_else(|| self.evaluation.not_made(names.kept))?;
        let mut kept = Vec::with_capacity(clubs.len());
        for (member, club) in clubs.iter().enumerate() {
            match self.kept_field(names, member, names.kept_kind) {
                State::Known(Value::Word(kind)) => kept.push(KeptClub {
                    club: *club,
                    kind,
                    loft: self.kept_field(names, member, names.kept_loft),
                }),
                State::Undecided(undecided) => return Err(undecided),
                State::Known(_) | State::None => {}
            }
        }
        Ok(kept)
    }

    fn kept_field(&self, names: &StandardSetNames, member: usize, field: usize) -> State {
        self.evaluation
            .field(names.kept, member, field)
            .unwrap_or(State::None)
    }

    /// Carry and gap as the plan has them; `None` where the plan does not speak of the club.
    fn of_plan(&self, names: &StandardSetNames, club: Club) -> Option<[State; 2]> {
        let mut clubs = self.evaluation.members(names.plan)?.iter();
        let member = clubs.position(|known| *known == club)?;
        let [_, carry, gap] = names.plan_fields.map(|field| {
            let state = self.evaluation.field(names.plan, member, field);
            state.unwrap_or(State::None)
        });
        Some([carry, gap])
    }

    /// What is known of one club: what the player keeps takes the place of what is planned.
    fn bag_fields(&self, names: &StandardSetNames, club: &BagClub) -> Vec<(usize, State)> {
        let mut known = Vec::with_capacity(names.fields.len());
        let mut set = |field: usize, state: State| known.push((field, state));
        let [kind, is_kept, loft, kept_length, shaft_mass, carry, gap] = names.fields;
        set(kind, State::Known(Value::Word(club.kind)));
        set(is_kept, State::Known(Value::Flag(club.kept.is_some())));
        if let Some(kept) = club.kept {
            set(loft, self.kept_field(names, kept, names.kept_loft));
            set(kept_length, self.kept_field(names, kept, names.kept_length));
            set(
                shaft_mass,
                self.kept_field(names, kept, names.kept_shaft_mass),
            );
            set(carry, self.kept_field(names, kept, names.kept_carry));
        } else if let Some(planned) = &club.loft {
            set(loft, planned.clone());
        }
        if let Some([carry_of_plan, gap_of_plan]) = club
            .planned
            .and_then(|planned| self.of_plan(names, planned))
        {
            set(carry, carry_of_plan);
            set(gap, gap_of_plan);
        }
        known
    }
}
