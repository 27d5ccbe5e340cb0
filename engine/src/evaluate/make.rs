//! The makers at work: what they read of the evaluation, and the groups that they leave.

use loftwright_dsl::program::{CandidateValue, GroupId, Member, Node, Value};
use loftwright_dsl::quantity::Rational;

use super::algebra::{merge, outcome_of, undecided_for};
use super::expression::{Asker, At};
use super::group::{Identity, NewGroup};
use super::reference::unknown_club_field;
use crate::contract::{AssembleNames, BuildNames, PieceNames, PlannedNames, StandardSetNames};
use crate::outcome::{Cause, Outcome, Place, State, Undecided};
use crate::set::built::ClubToBuild;
use crate::set::standard_set::{BagClub, KeptClub, PlannedClub, PlannedKind, standard_set};
use crate::trace::TraceSink;

impl<S: TraceSink> Asker<'_, S> {
    /// The whole bag.
    pub(super) fn make_standard_set(&mut self, id: GroupId, names: &StandardSetNames) -> NewGroup {
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
        for (member, club) in bag.iter().enumerate() {
            fields.extend(self.bag_fields(id, names, member, club));
        }
        NewGroup::made(identities, fields, names.width)
    }

    fn plan(&self, names: &StandardSetNames) -> Result<Vec<PlannedKind>, Undecided> {
        let driver = match self.read(names.driver_target_loft, None) {
            State::None => Vec::new(),
            loft => vec![PlannedClub {
                club: None,
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
        let mut undecided: Option<Undecided> = None;
        for planned in &names.planned {
            match self.planned_kind(planned) {
                Ok(kind) => plan.push(kind),
                Err(more) => merge(undecided.get_or_insert_default(), more),
            }
        }
        plan.push(single(names.putter, putter));
        undecided.map_or(Ok(plan), Err)
    }

    fn planned_kind(&self, names: &PlannedNames) -> Result<PlannedKind, Undecided> {
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

    fn kept_clubs(&self, names: &StandardSetNames) -> Result<Vec<KeptClub>, Undecided> {
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

    /// The fields of one club: what the player keeps takes the place of what is planned; what nobody
    /// plans is not known.
    fn bag_fields(
        &self,
        id: GroupId,
        names: &StandardSetNames,
        member: usize,
        club: &BagClub,
    ) -> Vec<State> {
        let mut fields: Vec<State> = (0..names.width)
            .map(|field| unknown_club_field(id, member, field))
            .collect();
        let mut set = |field: usize, state: State| {
            if let Some(place) = fields.get_mut(field) {
                *place = state;
            }
        };
        let [kind, is_kept, loft, kept_length, shaft_mass, carry] = names.fields;
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
        fields
    }

    /// Every club as it leaves the bench.
    pub(super) fn make_assembled(&mut self, id: GroupId, names: &AssembleNames) -> NewGroup {
        let Some(clubs) = self.evaluation.members(names.club) else {
            let blocked = self.evaluation.not_made(names.club);
            return NewGroup::without_clubs(Outcome::Blocked(blocked));
        };
        let identities = clubs.iter().map(|club| Identity::Same(*club)).collect();
        let mut fields = Vec::with_capacity(clubs.len().saturating_mul(names.width));
        let mut notes = Vec::with_capacity(clubs.len());
        for member in 0..clubs.len() {
            let (of_club, note) = self.built_fields(id, names, member);
            fields.extend(of_club);
            notes.push(note);
        }
        let mut made = NewGroup::made(identities, fields, names.width);
        made.state.notes = notes;
        made
    }

    fn built_fields(
        &self,
        id: GroupId,
        names: &AssembleNames,
        member: usize,
    ) -> (Vec<State>, Option<String>) {
        let of_club = |field| {
            self.evaluation
                .field(names.club, member, field)
                .unwrap_or(State::None)
        };
        let mut fields: Vec<State> = (0..names.width)
            .map(|field| unknown_club_field(id, member, field))
            .collect();
        let mut set = |field: usize, state: State| {
            if let Some(place) = fields.get_mut(field) {
                *place = state;
            }
        };
        let [
            kind,
            is_kept,
            loft,
            length,
            mass,
            balance,
            swingweight,
            moment,
            change,
        ] = names.fields;
        set(kind, of_club(names.club_kind));
        set(is_kept, of_club(names.club_is_kept));
        set(loft, of_club(names.club_loft));
        // Nothing is built of a kept club: its length is known at most.
        if of_club(names.club_is_kept) == State::Known(Value::Flag(true)) {
            set(length, of_club(names.club_kept_length));
            for field in [mass, balance, swingweight, moment, change] {
                set(field, State::None);
            }
            return (fields, None);
        }
        let at = Some((names.club, member));
        set(length, self.read(names.club_length, at));
        let built = self.built(id, names, member);
        for (field, state) in [mass, balance, swingweight, moment, change]
            .into_iter()
            .zip(built.0)
        {
            set(field, state);
        }
        (fields, built.1)
    }

    /// Mass, balance, swingweight, moment and the change of the head's mass.
    fn built(
        &self,
        id: GroupId,
        names: &AssembleNames,
        member: usize,
    ) -> ([State; 5], Option<String>) {
        let at = Some((names.club, member));
        let club = match self.to_build(names, member) {
            Ok(club) => club,
            Err(open) => return (std::array::from_fn(|_| open.clone()), None),
        };
        let built = match club.build() {
            Ok(built) => built,
            Err(note) => {
                let refused = refused(id, member);
                return (std::array::from_fn(|_| refused.clone()), Some(note));
            }
        };
        let number = |number| State::Known(Value::Number(number));
        let target = self.read(names.target_swingweight, at);
        let (change, note) = match target {
            State::Known(Value::Number(target)) => match club.head_mass_change_kg(target) {
                Ok(change) => (number(change), None),
                Err(note) => (refused(id, member), Some(note)),
            },
            State::Known(_) => (State::None, None),
            open => (open, None),
        };
        let states = [
            number(built.mass_kg),
            number(built.balance_m),
            number(built.swingweight_points),
            number(built.moment_kg_m2),
            change,
        ];
        (states, note)
    }

    /// What the pieces of a club are, or why that is not known.
    fn to_build(&self, names: &AssembleNames, member: usize) -> Result<ClubToBuild, State> {
        let at = Some((names.club, member));
        let kind = self.evaluation.field(names.club, member, names.club_kind);
        let of_kind = |build: &&BuildNames| kind == Some(State::Known(Value::Word(build.kind)));
        let build = names.builds.iter().find(of_kind).ok_or(State::None)?;
        let [head_mass] = self.piece(build.head, names.club, member);
        let [shaft_mass, shaft_length, shaft_balance] = self.piece(build.shaft, names.club, member);
        let [grip_mass] = self.piece(names.grip, names.club, member);
        let [
            length_m,
            head_mass_kg,
            shaft_mass_kg,
            shaft_length_m,
            shaft_balance_m,
            grip_mass_kg,
            wraps,
        ] = all_numbers([
            self.read(names.club_length, at),
            head_mass,
            shaft_mass,
            shaft_length,
            shaft_balance,
            grip_mass,
            self.read(names.grip_wraps, at),
        ])?;
        Ok(ClubToBuild {
            length_m,
            head_mass_kg,
            shaft_mass_kg,
            shaft_length_m,
            shaft_balance_m,
            grip_mass_kg,
            wraps,
        })
    }

    fn piece<const N: usize>(
        &self,
        names: PieceNames<N>,
        group: GroupId,
        member: usize,
    ) -> [State; N] {
        names.fields.map(|field| {
            let value = CandidateValue::Field(field);
            self.of_chosen(names.choose, value, Member::Same, At::club(group, member))
        })
    }
}

/// Every number, or the state that the values make together.
fn all_numbers<const N: usize>(states: [State; N]) -> Result<[Rational; N], State> {
    let mut numbers = [Rational::ZERO; N];
    let mut is_none = false;
    let mut undecided: Option<Undecided> = None;
    for (number, state) in numbers.iter_mut().zip(states) {
        match state {
            State::Known(Value::Number(known)) => *number = known,
            State::Known(_) | State::None => is_none = true,
            State::Undecided(more) => merge(undecided.get_or_insert_default(), more),
        }
    }
    match (is_none, undecided) {
        (true, _) => Err(State::None),
        (false, Some(undecided)) => Err(State::Undecided(undecided)),
        (false, None) => Ok(numbers),
    }
}

/// The maker could not work this club out; a note says why.
fn refused(group: GroupId, member: usize) -> State {
    let place = Place {
        node: Node::Group(group),
        member: Some(member),
    };
    State::Undecided(undecided_for(place, Cause::Ended(place)))
}
